"""How loud the take is, every 10 ms.

Arrays have one value a frame of ``HOP_MS``; frame ``i`` covers ``[i * HOP_MS, (i + 1) * HOP_MS)``. Levels are RMS in
dB relative to full scale, never below ``FLOOR_DB``: a sine that just fits has -3.01.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lessoncut.errors import TakeError
from lessoncut.times import Span

HOP_MS = 10
FLOOR_DB = -120.0

SILENT_DB = -90.0
"""Under the noise of any microphone: 16-bit rounding alone, or nothing."""

UNHEARD_DB = -70.0
"""A take that never rises above this holds no voice."""

Decibels = NDArray[np.float32]
"""Shape (frames,), dBFS."""


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

    @property
    def backwards(self) -> Levels:
        """The same sound played backwards."""
        return Levels(self.voice_db[::-1], self.hiss_db[::-1])


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
    power = power_of(levels.voice_db[first:last])
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


def decibels(power: NDArray[np.float64]) -> Decibels:
    """The levels of mean squares."""
    return (10 * np.log10(np.maximum(power, 10 ** (FLOOR_DB / 10)))).astype(np.float32)


def power_of(level_db: Decibels) -> NDArray[np.float64]:
    """The mean squares that have these levels."""
    return np.asarray(10 ** (level_db.astype(np.float64) / 10))


def _smoothed(level_db: Decibels, frames: int) -> Decibels:
    """The mean power over a few frames, as levels; shorter at the ends, never longer than the take."""
    frames = min(frames, len(level_db))
    return decibels(np.convolve(power_of(level_db), np.ones(frames) / frames, "valid"))
