"""Phones on published readings of several speakers, against labels that people laid (``published/SOURCES.md``).

Each reading is put between half a second of a quiet room, as a line stands in a take. Compared is what the labeller and
the aligner call the same sound: labellers write down what was said, in signs of their own, and now and then that is not
what the dictionary has ("what're" with no vowel of its own).
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import soundfile
from rapidfuzz.distance import Levenshtein

from lessoncut.hearing.align import Aligner
from lessoncut.hearing.records import AlignmentRequest
from lessoncut.take.samples import PER_MS, RATE_HZ, Samples
from lessoncut.times import Span
from lessoncut.wording import spoken

PUBLISHED = Path(__file__).parent / "published"
READINGS = json.loads((PUBLISHED / "labelled.json").read_text(encoding="utf-8"))
ROOM_MS, ROOM_DBFS = 500, -62.0
QUIET = ("", "sp")
SIGNS = {
    **{"ə": "AH", "θ": "DH", "œ": "AE", "i": "IY", "o": "OW"},  # "mary": phonetic signs, roughly
    **{"eI": "EY", "aI": "AY", "@": "AH", "D": "DH", "V": "AH", "A": "AA"},  # "damon": SAMPA
}
"""Signs of two labellers that are not ARPAbet, as the decoder calls their sounds."""
NOT_ARPABET = ("mary", "damon")


def in_a_room(name: str) -> Samples:
    samples, rate_hz = soundfile.read(PUBLISHED / f"{name}.flac", dtype="float64")
    assert rate_hz == RATE_HZ
    rng = np.random.default_rng(1)
    before, after = rng.standard_normal((2, ROOM_MS * PER_MS)) * 10 ** (ROOM_DBFS / 20)
    return np.asarray(np.concatenate([before, samples, after]) * 32767, np.int16)


def told(name: str) -> list[tuple[str, Span]]:
    """The labels as the decoder names sounds, on the clock of ``in_a_room``."""
    return [
        (
            SIGNS.get(label, label.upper()) if name in NOT_ARPABET else label.upper().rstrip("012"),
            Span(start_ms + ROOM_MS, end_ms + ROOM_MS),
        )
        for label, start_ms, end_ms in READINGS[name]["phones"]
        if label not in QUIET
    ]


def alike(name: str) -> list[tuple[Span, Span]]:
    """Where the aligner and the labels have each sound that both name alike."""
    samples = in_a_room(name)
    words = spoken(READINGS[name]["text"])
    found = Aligner(samples).phones(AlignmentRequest("L001", words, Span(0, len(samples) // PER_MS)))
    labels = told(name)
    steps = Levenshtein.opcodes([phone.phone for phone in found], [label for label, _ in labels])
    return [
        (found[ours].span, labels[theirs][1])
        for step in steps
        if step.tag == "equal"
        for ours, theirs in zip(range(step.src_start, step.src_end), range(step.dest_start, step.dest_end), strict=True)
    ]


@pytest.mark.parametrize("name", READINGS)
def test_the_sounds_are_those_that_the_labels_name(name: str) -> None:
    """Six of ten at least: "im_twelve" is fast talk, its last words half swallowed."""
    assert len(alike(name)) >= 0.6 * len(told(name))


def test_boundaries_of_six_readings_keep_the_bars() -> None:
    """Half of all boundaries, starts and ends, within 20 ms of the labels, and 9 of 10 within 50 ms."""
    pairs = [pair for name in READINGS for pair in alike(name)]
    off = np.abs([x for ours, told in pairs for x in (ours.start_ms - told.start_ms, ours.end_ms - told.end_ms)])
    assert len(off) >= 120
    assert np.median(off) <= 20
    assert np.mean(off <= 50) >= 0.9
