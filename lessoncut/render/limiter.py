"""A limiter of true peaks: it turns the sound down for a moment around each peak, and touches nothing else.

The gain reaches what a peak needs a little before the peak and leaves it as slowly, so that nothing is clipped.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import minimum_filter1d
from scipy.signal import oaconvolve

from lessoncut.render.loudness import HIGHEST_OVERSHOOT, oversampled_peaks
from lessoncut.render.samples import RATE_HZ, Chunk

REACH = RATE_HZ // 100
"""Samples before and after a peak in which the gain changes: 10 ms, two periods of a deep voice."""
_FILTER = 32
"""More samples than the oversampling filter looks to either side."""
MARGIN = 2 * REACH + _FILTER
"""Samples around a block on which its gain depends."""
_SAFETY = 10 ** (-0.05 / 20)
"""A changing gain moves the peaks between the samples a little."""

_BELL = np.hanning(2 * REACH + 3)[1:-1]
_BELL /= _BELL.sum()


@dataclass(frozen=True)
class Limited:
    """A block after the limiter, and the lowest gain that was applied (1.0: none)."""

    sound: Chunk
    lowest_gain: float


def limited(sound: Chunk, before: int, after: int, ceiling: float) -> Limited:
    """The block ``sound[before : len - after]`` with no true peak over ``ceiling`` (linear, full scale 1.0).

    ``before`` and ``after`` samples around it belong to its neighbours; with ``MARGIN`` of them (fewer only where the
    programme ends), blocks fit together without a seam.
    """
    block = slice(before, len(sound) - after)
    if not len(sound) or float(np.abs(sound).max()) * HIGHEST_OVERSHOOT <= ceiling:
        return Limited(sound[block], 1.0)
    peaks = oversampled_peaks(sound)
    # A peak after sample n lies between n and n + 1: both are turned down for it.
    peaks[1:] = np.maximum(peaks[1:], peaks[:-1].copy())
    needed = np.minimum(np.float32(1.0), np.float32(ceiling * _SAFETY) / np.maximum(peaks, np.float32(1e-9)))
    if float(needed.min()) == 1.0:
        return Limited(sound[block], 1.0)
    lowest = minimum_filter1d(needed, 2 * REACH + 1, mode="nearest")
    # What is taken off, and not the gain: so that it is 1.0 exactly where nothing is taken.
    taken = oaconvolve(np.pad(1 - lowest.astype(np.float64), REACH, mode="edge"), _BELL, "valid")
    gain = (1 - taken).astype(np.float32)[:, None]
    return Limited((sound * gain)[block].astype(np.float32), float(gain[block].min(initial=1.0)))
