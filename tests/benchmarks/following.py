"""Following a long script through a take that is told in words: nothing is heard, and the aligner knows the answer.

    python -m tests.benchmarks.following LINES ours|plain

Every line is read twice, every eleventh broken off first. ``ours`` is the matching and its findings, ``plain`` the
baseline of the evaluation on the same words. Prints one JSON object: the CPU seconds after a first small lesson, the
words, and how many readings were found of those told.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable
from time import process_time

import numpy as np

from lessoncut.hearing.records import Hearing
from lessoncut.hearing.told import told
from lessoncut.matching.findings import find
from lessoncut.matching.ground import Ground
from lessoncut.matching.match import match
from lessoncut.script.records import Line, Script, Section
from lessoncut.take.levels import Levels
from lessoncut.wording import spoken
from tests.benchmarks.takes import lines_of
from tests.evaluation import baseline
from tests.matching.sounding import sounding

WORD_S, PAUSE_S, GAP_S = 0.3, 0.8, 3.0
_BROKEN_OFF_EVERY = 11


def lesson(count: int) -> tuple[Script, str]:
    """A script of one passage, and how it was read, in the notation of ``told``."""
    lines = tuple(Line(f"L{number:03d}", text, 0, True) for number, text in enumerate(lines_of(count), start=1))
    rows: list[str] = []
    at_s = 1.0
    for pause_s in (PAUSE_S, GAP_S):
        for at, line in enumerate(lines):
            words = [*spoken(line.text)]
            for said in [words[:3], words] if at % _BROKEN_OFF_EVERY == 3 else [words]:
                end_s = at_s + WORD_S * len(said)
                rows.append(f"{at_s:.2f}  {' '.join(said)}  {end_s:.2f}")
                at_s = end_s + pause_s
    return Script("A long lesson", (Section("The passage", passage=True),), lines), "\n".join(rows)


def ours(script: Script, text: str, hearing: Hearing) -> int:
    """Whole readings found by the matching."""
    level_db = np.full(hearing.duration_ms // 10, -65.0, dtype=np.float32)
    for span in hearing.speech:
        level_db[span.start_ms // 10 : span.end_ms // 10] = -20.0
    found = match(Ground(script, hearing, sounding(text)), Levels(level_db, np.full_like(level_db, -65.0)))
    find(script, hearing, found)
    return sum(reading.kind == "full" for reading in found.readings)


def plain(script: Script, _: str, hearing: Hearing) -> int:
    """Whole pieces found by the baseline."""
    rows = [baseline.Row(line.id, line.text, "The passage", True) for line in script.lines]
    words = [baseline.Heard(word.text, word.span.start_ms / 1000, word.span.end_ms / 1000) for word in hearing.words]
    return sum(piece.full for piece in baseline.in_passes(baseline.pieces_of(words, rows), rows))


WAYS: dict[str, Callable[[Script, str, Hearing], int]] = {"ours": ours, "plain": plain}


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("lines", type=int)
    options.add_argument("way", choices=WAYS)
    asked = options.parse_args()
    for count in (3, asked.lines):  # dictionaries are read once for all
        script, text = lesson(count)
        hearing = told(text)
        before_s = process_time()
        readings = WAYS[asked.way](script, text, hearing)
        cpu_s = process_time() - before_s
    print(json.dumps({"cpu_s": cpu_s, "words": len(hearing.words), "readings": readings, "told": 2 * asked.lines}))


if __name__ == "__main__":
    main()
