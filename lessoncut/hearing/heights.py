"""How far the sound stands over the room around it, and spans made of frames. Pure.

Arrays have one value a frame of ``HOP_MS``.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter1d

from lessoncut.take.levels import HOP_MS, Decibels, Levels
from lessoncut.times import Span

OVER_FLOOR_DB = 6.0
"""From here on the sound is more than the room."""
LOUD_DB = 12.0
"""From here on it is a sound in its own right."""
_FLOOR_STEP_MS = 1000
_FLOOR_REACHES_MS = (12_000, 60_000)
_ENOUGH_QUIET_MS = 1500

Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Heights:
    """Both bands over their local floors, and the floor of the voice band, dB."""

    voice: Decibels
    hiss: Decibels
    floor: Decibels

    @property
    def highest(self) -> Decibels:
        return np.maximum(self.voice, self.hiss)

    @property
    def active(self) -> Mask:
        return np.asarray(self.highest > OVER_FLOOR_DB)

    @property
    def loud(self) -> Mask:
        return np.asarray(self.highest >= LOUD_DB)


def heights(levels: Levels, quiet: Mask) -> Heights:
    """``quiet`` marks the frames in which surely nobody speaks."""
    voice_db, hiss_db = smooth(levels.voice_db), smooth(levels.hiss_db)
    floor = local_floor(voice_db, quiet)
    return Heights(voice_db - floor, hiss_db - local_floor(hiss_db, quiet), floor)


def smooth(level_db: Decibels) -> Decibels:
    """Mean power over 30 ms: single frames of noise differ too much."""
    power = uniform_filter1d(10 ** (level_db.astype(np.float64) / 10), 3)
    return np.asarray(10 * np.log10(power), np.float32)


def local_floor(level_db: Decibels, quiet: Mask) -> Decibels:
    """The level of the room around every frame: the middle of what is quiet nearby, or else the quiet tenth of all."""
    at = np.arange(0, len(level_db), _FLOOR_STEP_MS // HOP_MS)
    values = [_floor_near(level_db, quiet, int(middle)) for middle in at]
    return np.interp(np.arange(len(level_db)), at, values).astype(np.float32)


def _floor_near(level_db: Decibels, quiet: Mask, middle: int) -> float:
    for reach_ms in _FLOOR_REACHES_MS:
        near = slice(max(0, middle - reach_ms // HOP_MS), middle + reach_ms // HOP_MS)
        room = level_db[near][quiet[near]]
        if len(room) * HOP_MS >= _ENOUGH_QUIET_MS:
            return float(np.percentile(room, 40))
    return float(np.percentile(level_db, 10))


def runs(where: Mask) -> tuple[Span, ...]:
    """Where the mask holds, as spans."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], where, [False])).astype(np.int8)))
    return tuple(Span(int(start) * HOP_MS, int(end) * HOP_MS) for start, end in edges.reshape(-1, 2))


def mask(spans: Iterable[Span], frames: int) -> Mask:
    """The frames inside the spans."""
    out = np.zeros(frames, bool)
    for span in spans:
        out[frames_of(span)] = True
    return out


def frames_of(span: Span) -> slice:
    return slice(max(0, span.start_ms // HOP_MS), max(0, span.end_ms // HOP_MS))
