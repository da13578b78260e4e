"""Sounds held for demonstration: "vvvv". Level and spectrum stay as they are for longer than speech ever lets them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import uniform_filter1d

from lessoncut.hearing.heights import Heights, Mask, frames_of, runs
from lessoncut.take.levels import HOP_MS
from lessoncut.take.samples import RATE_HZ, Samples, cut
from lessoncut.times import Span, SpanIndex, merged

LEAST_MS, SURELY_MS = 340, 480
ANYWHERE_MS = 800
BESIDE_MS, BESIDE_SHORT_MS = 1000, 400
"""What is shorter must be most of its breath, with so much beside it, or so little in a sound shorter than surely
enough: a line's last vowel may be drawn out as long."""
LEVEL_SWING_DB = 4.5
"""Standard deviation over 200 ms, below which the level is steady, be it a hiss."""
SPECTRUM_SWING_DB, SHORT_SWING_DB = 2.3, 1.15
"""Standard deviation over the whole sound, mean of the bands that carry it; and in a sound shorter than surely enough.

Over 110 made lessons it was 2.1 at most in held sounds, 2.6 at least in anything else as long and as steady but the
buzz of a telephone, and 1.2 at least in what is shorter. Beside its even rise or fall, it was 1.7 at most in 48 held
sounds, one of which fades slowly, and 2.9 at least in what else is as long in 40 lessons.
"""
VERY_STEADY_DB, STEADY_SWING_DB = 0.7, 3.6
"""Swing of the level, mostly, in a long sound whose spectrum may swing so much: of 141 lessons' long sounds, held ones
in a live room swing by 0.5 and 3.2 at most; whatever else swings so little in its spectrum, by 1.0 at least."""
_WINDOW = 20
_FADE_MS, _PAUSE_MS = 200, 180
_SLICE = RATE_HZ // 50
_BANDS_HZ = (100, 300, 600, 1000, 1500, 2200, 3200, 4800, 7600)
_CARRYING_DB = -30.0


def held_sounds(samples: Samples, heights: Heights) -> tuple[Span, ...]:
    """The held sounds of a take, with the ends where they fade in and out."""
    swing = _swing(heights.voice)
    steady = heights.loud & (swing < LEVEL_SWING_DB)
    cores = [run for run in runs(steady) if run.length_ms >= LEAST_MS]
    breaths = SpanIndex(merged(runs(heights.loud), bridge_ms=_PAUSE_MS))
    return merged(
        _with_fades(core, heights.active)
        for core in cores
        if (core.length_ms >= ANYWHERE_MS or _is_alone(core, breaths)) and _is_held(cut(samples, core), core, swing)
    )


def _is_alone(core: Span, breaths: SpanIndex) -> bool:
    """Whether hardly anything else is said in its breath."""
    beside_ms = BESIDE_MS if core.length_ms >= SURELY_MS else BESIDE_SHORT_MS
    return all(breath.length_ms <= core.length_ms + beside_ms for breath in breaths.meeting(core))


def _is_held(sound: Samples, core: Span, swing: NDArray[np.float64]) -> bool:
    if core.length_ms < ANYWHERE_MS:
        return spectrum_swing_db(sound) < (SPECTRUM_SWING_DB if core.length_ms >= SURELY_MS else SHORT_SWING_DB)
    very_steady = float(np.median(swing[frames_of(core)])) < VERY_STEADY_DB
    return spectrum_swing_db(sound, fading=True) < (STEADY_SWING_DB if very_steady else SPECTRUM_SWING_DB)


def spectrum_swing_db(samples: Samples, *, fading: bool = False) -> float:
    """How much the bands within 30 dB of the whole go up and down, in slices of 20 ms smoothed over three; ``fading``:
    beside the even rise or fall of each, as the breath runs out."""
    slices = samples[: len(samples) // _SLICE * _SLICE].reshape(-1, _SLICE) * np.hanning(_SLICE)
    power = np.abs(np.fft.rfft(slices, 512)) ** 2
    hz = np.fft.rfftfreq(512, 1 / RATE_HZ)
    edges = np.searchsorted(hz, _BANDS_HZ)
    bands = uniform_filter1d(np.add.reduceat(power, edges, axis=1)[:, :-1], 3, axis=0) + 1.0
    level_db = 10 * np.log10(bands)
    share_db = level_db - 10 * np.log10(bands.sum(axis=1, keepdims=True))
    carrying = np.median(share_db, axis=0) > _CARRYING_DB
    carried = level_db[:, carrying]
    return float((_without_trend(carried) if fading else carried).std(axis=0).mean())


def _without_trend(rows: NDArray[np.float64]) -> NDArray[np.float64]:
    """Each column without the straight line that fits it best."""
    at = np.arange(len(rows)) - (len(rows) - 1) / 2
    return np.asarray(rows - np.outer(at, at @ rows / np.sum(at**2)))


def _swing(height_db: NDArray[np.float32]) -> NDArray[np.float64]:
    height = height_db.astype(np.float64)
    mean = uniform_filter1d(height, _WINDOW)
    return np.asarray(np.sqrt(np.maximum(0.0, uniform_filter1d(height**2, _WINDOW) - mean**2)))


def _with_fades(core: Span, active: Mask) -> Span:
    """With the active frames that join on at either end, and as far as the swing's window looked."""
    reach = core.padded(_FADE_MS + _WINDOW // 2 * HOP_MS, _FADE_MS + _WINDOW // 2 * HOP_MS)
    joined = active[frames_of(reach)]
    start_ms = max(0, reach.start_ms)
    around = [run.padded(-start_ms, start_ms) for run in runs(joined)]
    return next((run for run in around if run.overlap_ms(core)), core).hull(core)
