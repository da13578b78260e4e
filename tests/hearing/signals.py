"""A sound and where somebody speaks in it, for tests."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from lessoncut.hearing.speech import Speech, told_apart
from lessoncut.hearing.voice import voice_probabilities
from lessoncut.take.measure import measure
from lessoncut.take.samples import RATE_HZ, Samples

PUBLISHED = Path(__file__).parent.parent / "teaching" / "published"
"""Readings and their labels; see its ``SOURCES.md``."""
PHONES = json.loads((PUBLISHED / "phones.json").read_text())
ROOM_DB = -60.0

Signal = NDArray[np.float64]


def room(seconds: float, seed: int = 1, level_db: float = ROOM_DB) -> Signal:
    return np.random.default_rng(seed).normal(0, 10 ** (level_db / 20), round(seconds * RATE_HZ))


def with_piece(base: Signal, at_s: float, piece: Signal) -> Signal:
    start = round(at_s * RATE_HZ)
    out = base.copy()
    out[start : start + len(piece)] += piece
    return out


def published(name: str) -> Signal:
    sound, rate_hz = soundfile.read(PUBLISHED / f"{name}.flac", dtype="float64")
    assert rate_hz == RATE_HZ
    return np.asarray(sound)


def speech_in(signal: Signal) -> Speech:
    samples: Samples = np.clip(np.round(signal * 32768), -32768, 32767).astype(np.int16)
    return told_apart(samples, measure(samples), voice_probabilities(samples))
