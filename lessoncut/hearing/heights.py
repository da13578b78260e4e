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
_DENSE_REACH_MS = 3000
_LITTLE_QUIET_MS, _ENOUGH_STILL_MS = 300, 200
_LOWEST = 10
"""Percentile of the moments without a voice that is the room where one line follows hard on another."""

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


def heights(levels: Levels, quiet: Mask, still: Mask) -> Heights:
    """``quiet`` marks the frames in which surely nobody speaks, ``still`` also those close to speech."""
    voice_db, hiss_db = smooth(levels.voice_db), smooth(levels.hiss_db)
    floor = local_floor(voice_db, quiet, still)
    return Heights(voice_db - floor, hiss_db - local_floor(hiss_db, quiet, still), floor)


def smooth(level_db: Decibels) -> Decibels:
    """Mean power over 30 ms: single frames of noise differ too much."""
    power = uniform_filter1d(10 ** (level_db.astype(np.float64) / 10), 3)
    return np.asarray(10 * np.log10(power), np.float32)


def local_floor(level_db: Decibels, quiet: Mask, still: Mask) -> Decibels:
    """The level of the room around every frame: the middle of what is quiet nearby, or else the quiet tenth of all.

    Where hardly anything is, the still moments may show that the room there is louder.
    """
    at = np.arange(0, len(level_db), _FLOOR_STEP_MS // HOP_MS)
    values = [
        max(_floor_near(level_db, quiet, int(middle)), _floor_between(level_db, quiet, still, int(middle)))
        for middle in at
    ]
    return np.interp(np.arange(len(level_db)), at, values).astype(np.float32)


def _floor_near(level_db: Decibels, quiet: Mask, middle: int) -> float:
    for reach_ms in _FLOOR_REACHES_MS:
        near = _near(middle, reach_ms)
        room = level_db[near][quiet[near]]
        if len(room) * HOP_MS >= _ENOUGH_QUIET_MS:
            return float(np.percentile(room, 40))
    return float(np.percentile(level_db, 10))


def _floor_between(level_db: Decibels, quiet: Mask, still: Mask, middle: int) -> float:
    """The room between lines that follow hard on each other; minus infinity where there is rest enough, or none."""
    near = _near(middle, _DENSE_REACH_MS)
    room = level_db[near][still[near]]
    if quiet[near].sum() * HOP_MS >= _LITTLE_QUIET_MS or len(room) * HOP_MS < _ENOUGH_STILL_MS:
        return -np.inf
    return float(np.percentile(room, _LOWEST))


def _near(middle: int, reach_ms: int) -> slice:
    return slice(max(0, middle - reach_ms // HOP_MS), middle + reach_ms // HOP_MS)


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
