"""How loud the take is, every 10 ms.

Arrays have one value a frame of ``HOP_MS``; frame ``i`` covers ``[i * HOP_MS, (i + 1) * HOP_MS)``. Levels are RMS in
dB relative to full scale, never below ``FLOOR_DB``: a sine that just fits has -3.01.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import signal

from lessoncut.errors import TakeError
from lessoncut.progress import Progress, no_progress
from lessoncut.take.samples import PER_MS, RATE_HZ, Samples
from lessoncut.times import Span

HOP_MS = 10
FLOOR_DB = -120.0

SILENT_DB = -90.0
"""Under the noise of any microphone: 16-bit rounding alone, or nothing."""

UNHEARD_DB = -70.0
"""A take that never rises above this holds no voice."""

Decibels = NDArray[np.float32]
"""Shape (frames,), dBFS."""

_HOP = HOP_MS * PER_MS
_FULL_SCALE = 32_768.0
_CHUNK_HOPS = 3000
_signal: Any = signal  # comes without types
_VOICE = _signal.butter(4, 100, "highpass", fs=RATE_HZ, output="sos")
_HISS = _signal.butter(4, (2500, 7600), "bandpass", fs=RATE_HZ, output="sos")


@dataclass(frozen=True)
class Levels:
    """Two bands of one sound: the voice above rumble, and the hiss band where breath and s, f, sh lie."""

    voice_db: Decibels
    """After a 100 Hz high-pass."""
    hiss_db: Decibels
    """2.5 to 7.6 kHz."""

    @property
    def duration_ms(self) -> int:
        return len(self.voice_db) * HOP_MS


def measure(samples: Samples, progress: Progress = no_progress) -> Levels:
    """The levels of the whole take; memory does not grow with it. A last frame that is not full counts what it has."""
    voice, hiss = _Band(_VOICE), _Band(_HISS)
    for start in range(0, len(samples), _CHUNK_HOPS * _HOP):
        chunk = samples[start : start + _CHUNK_HOPS * _HOP] / _FULL_SCALE
        voice.add(chunk)
        hiss.add(chunk)
        progress(min(1.0, (start + len(chunk)) / len(samples)))
    return Levels(voice.levels_db(), hiss.levels_db())


def room_tone_db(levels: Levels) -> float:
    """How loud the room is when nobody speaks: the quiet tenth of all that is not digital silence, over 30 ms each."""
    recorded = levels.voice_db[levels.voice_db > SILENT_DB]
    if not len(recorded):
        return FLOOR_DB
    return float(np.percentile(_smoothed(recorded, 3), 10))


def quietest_ms(levels: Levels, span: Span) -> int:
    """The middle of the quietest 30 ms inside the span; of equals the one nearest to the span's middle.

    A span too short to hold 30 ms gives its own middle, and so does one outside the take.
    """
    first = -(-max(0, span.start_ms) // HOP_MS)
    last = min(span.end_ms // HOP_MS, len(levels.voice_db))
    if last - first < 3:
        return span.middle_ms
    power = _power(levels.voice_db[first:last])
    stretches = np.convolve(power, np.ones(3), "valid")
    middles_ms = (first + np.arange(len(stretches))) * HOP_MS + 3 * HOP_MS // 2
    quiet = stretches <= stretches.min() * (1 + 1e-6)  # sums of the same numbers differ in their last digits
    return int(min(middles_ms[quiet], key=lambda at_ms: abs(at_ms - span.middle_ms)))


def require_sound(levels: Levels) -> None:
    """Raises TakeError for a take in which nothing was recorded."""
    loudest_db = float(levels.voice_db.max(initial=FLOOR_DB))
    if loudest_db <= SILENT_DB:
        raise TakeError(
            "its sound track holds silence and nothing else", hint="check which microphone the recorder listened to"
        )
    if loudest_db <= UNHEARD_DB:
        raise TakeError(
            f"its sound is never louder than {loudest_db:.0f} dB under full scale: no voice was recorded",
            hint="check which microphone the recorder listened to",
        )


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
        self._levels.append(_decibels(np.add.reduceat(filtered**2, starts) / counts))

    def levels_db(self) -> Decibels:
        return np.concatenate(self._levels) if self._levels else np.zeros(0, np.float32)


def _decibels(power: NDArray[np.float64]) -> Decibels:
    return (10 * np.log10(np.maximum(power, 10 ** (FLOOR_DB / 10)))).astype(np.float32)


def _power(level_db: Decibels) -> NDArray[np.float64]:
    return np.asarray(10 ** (level_db.astype(np.float64) / 10))


def _smoothed(level_db: Decibels, frames: int) -> Decibels:
    """The mean power over a few frames, as levels; shorter at the ends, never longer than the take."""
    frames = min(frames, len(level_db))
    return _decibels(np.convolve(_power(level_db), np.ones(frames) / frames, "valid"))
