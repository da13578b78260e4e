"""Long takes with scripts to match, of any length, made of invented lines in a free voice (flite).

Every line is read three times: in the model reading and in two repeat passes, each line of those followed by a gap.
Some lines are broken off and begun again. Nothing is random: a length always gives the same take.
"""

from __future__ import annotations

import subprocess
import tempfile
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

RATE_HZ = 16_000
LINES_A_MINUTE = 500 / 180
"""Three hours have a script of 500 lines."""
ROOM_DBFS = -62.0
VOICE = "rms"
_PASSES = (0.6, 1.5, 1.5)
"""The pause after a line in every pass, as a multiple of the line's length; never less than ``_LEAST_PAUSE_S``."""
_LEAST_PAUSE_S = 1.0
_BROKEN_OFF_EVERY = 11

_WHO = """
The baker, the harbour pilot, my oldest cousin, a tall stranger, the night porter, our new neighbour,
the mountain guide, a careful gardener, the village doctor, the young violinist, a retired sailor,
the lighthouse keeper, my former teacher, the bridge engineer, a patient weaver, the market trader,
our station master, the glass blower, a quiet librarian, the ferry captain, my younger sister,
the orchard owner, a clever locksmith, the radio announcer, our choir leader
"""
_DOES = """
carries fresh bread, polishes the copper lamps, writes seven short letters, repairs a broken window,
paints the wooden gate, measures the water level, folds the winter blankets, counts the empty barrels,
answers every question, sharpens old knives, waters the lemon trees, collects smooth pebbles,
checks the railway signals, sweeps the marble stairs, tunes the small piano, labels the medicine bottles,
plants yellow tulips, stacks the heavy boxes, draws a careful map, mends the fishing nets,
reads the morning paper, cooks a simple stew, locks the iron door, feeds the hungry swans,
winds the tower clock, borrows a silver spoon, ties the blue ribbon
"""
_WHERE = """
behind the old mill, near the northern bridge, in the upper kitchen, beside the frozen lake,
under the broad chestnut, at the corner table, along the river path, above the flower shop,
outside the concert hall, in a narrow valley, between two tall towers, across the empty square,
inside the green pavilion, by the garden wall, on the second floor, at the edge of town,
below the castle hill, opposite the museum, in the back of the van, around the wide harbour,
past the ruined chapel, on the wooden pier, through the open field, next to the fountain,
in the covered market, over the stone arch, at the railway crossing, beyond the vineyard,
within the city gates
"""


@dataclass(frozen=True)
class Long:
    """A take and its script on the disk."""

    take: Path
    script: Path
    lines: int
    duration_s: float


def lines_of(count: int) -> list[str]:
    """Different sentences, as far apart as three lists of parts allow."""
    who, does, where = ([" ".join(part.split()) for part in parts.split(",")] for parts in (_WHO, _DOES, _WHERE))
    rows = [
        f"{who[at % len(who)]} {does[at % len(does)]} {where[(at + at // len(who)) % len(where)]}."
        for at in range(count)
    ]
    return [row[0].upper() + row[1:] for row in rows]


def made_take(folder: Path, minutes: float) -> Long:
    """Writes ``take.flac`` and ``script.md`` into the folder. The take is about ``minutes`` long, or a little less."""
    folder.mkdir(parents=True, exist_ok=True)
    lines = lines_of(max(3, round(minutes * LINES_A_MINUTE)))
    script = folder / "script.md"
    script.write_text("# A long lesson\n\n## The passage {.passage}\n\n" + "\n".join(lines) + "\n", encoding="utf-8")
    with tempfile.TemporaryDirectory() as room, ThreadPoolExecutor(max_workers=2) as two:
        spoken = list(two.map(lambda pair: _said(pair[1], Path(room) / f"{pair[0]}.wav"), enumerate(lines)))
    take = folder / "take.flac"
    rng = np.random.default_rng(1)
    most = round(minutes * 60 * RATE_HZ)
    written = 0
    with soundfile.SoundFile(take, "w", RATE_HZ, 1, format="FLAC") as out:
        for piece in _performed(spoken):
            room_tone = rng.standard_normal(len(piece)) * 10 ** (ROOM_DBFS / 20)
            sound = (piece + room_tone)[: most - written]
            out.write(sound)
            written += len(sound)
    return Long(take, script, len(lines), written / RATE_HZ)


def _performed(spoken: list[NDArray[np.float64]]) -> Iterator[NDArray[np.float64]]:
    yield np.zeros(RATE_HZ)
    for factor in _PASSES:
        for at, line in enumerate(spoken):
            if at % _BROKEN_OFF_EVERY == 3:
                yield line[: len(line) // 3]
                yield np.zeros(RATE_HZ)
            yield line
            yield np.zeros(max(round(_LEAST_PAUSE_S * RATE_HZ), round(factor * len(line))))


def _said(text: str, to: Path) -> NDArray[np.float64]:
    subprocess.run(["flite", "-voice", VOICE, "-t", text, "-o", str(to)], check=True, capture_output=True)
    samples, rate_hz = soundfile.read(to, dtype="float64")
    assert rate_hz == RATE_HZ, f"this voice speaks at {rate_hz} Hz"
    even: NDArray[np.float64] = samples * (0.07 / np.sqrt(np.mean(samples**2)))
    return even
