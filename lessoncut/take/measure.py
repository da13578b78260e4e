"""Measures how loud the take is."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import signal

from lessoncut.progress import Progress, no_progress
from lessoncut.take.levels import HOP_MS, Decibels, Levels, decibels
from lessoncut.take.samples import PER_MS, RATE_HZ, Samples

_HOP = HOP_MS * PER_MS
_FULL_SCALE = 32_768.0
_CHUNK_HOPS = 3000
_signal: Any = signal  # comes without types
_VOICE = _signal.butter(4, 100, "highpass", fs=RATE_HZ, output="sos")
_HISS = _signal.butter(4, (2500, 7600), "bandpass", fs=RATE_HZ, output="sos")


def measure(samples: Samples, progress: Progress = no_progress) -> Levels:
    """The levels of the whole take; memory does not grow with it. A last frame that is not full counts what it has."""
    voice, hiss = _Band(_VOICE), _Band(_HISS)
    for start in range(0, len(samples), _CHUNK_HOPS * _HOP):
        chunk = samples[start : start + _CHUNK_HOPS * _HOP] / _FULL_SCALE
        voice.add(chunk)
        hiss.add(chunk)
        progress(min(1.0, (start + len(chunk)) / len(samples)))
    return Levels(voice.levels_db(), hiss.levels_db())


class _Band:
    """One filter over chunk after chunk, with its memory carried on."""

    def __init__(self, sections: NDArray[np.float64]) -> None:
        self._sections = sections
        self._memory = np.zeros((len(sections), 2))
        self._levels: list[Decibels] = []

    def add(self, chunk: NDArray[np.float64]) -> None:
        filtered, self._memory = _signal.sosfilt(self._sections, chunk, zi=self._memory)
        starts = np.arange(0, len(filtered), _HOP)
        counts = np.minimum(_HOP, len(filtered) - starts)
        self._levels.append(decibels(np.add.reduceat(filtered**2, starts) / counts))

    def levels_db(self) -> Decibels:
        return np.concatenate(self._levels) if self._levels else np.zeros(0, np.float32)
