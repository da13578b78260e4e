"""The spectrum of sound as the ear hears it, frame by frame, for whoever compares sounds: mel bands, and the
mel-frequency cepstral coefficients that follow from them (Davis and Mermelstein 1980).
"""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.fft import dct

from lessoncut.take.samples import PER_MS, RATE_HZ

FRAME_MS, HOP_MS = 25, 10
FRAME, HOP = FRAME_MS * PER_MS, HOP_MS * PER_MS
"""Samples."""
_TRANSFORM = 512
_BANDS = 26
_LOW_HZ, _HIGH_HZ = 80, 7600

Powers = NDArray[np.float64]
"""Shape (frames, bands)."""


def frames(sound: NDArray[Any], every: int = 1) -> NDArray[Any]:
    """One every ``HOP_MS``, or every so many of these, shape (frames, FRAME), without a copy. Raises ValueError where
    the sound is shorter than one."""
    return np.lib.stride_tricks.sliding_window_view(sound, FRAME)[:: HOP * every]


def band_powers(tapered: NDArray[np.float64]) -> Powers:
    """Of frames that a window has tapered."""
    return np.asarray(np.abs(np.fft.rfft(tapered, _TRANSFORM)) ** 2 @ _bands().T)


def cepstra(powers: Powers, floor: float | NDArray[np.float64]) -> NDArray[np.float64]:
    """The coefficients of each frame, shape (frames, bands), the level first; less than ``floor`` hardly counts."""
    return np.asarray(dct(np.log(powers + floor), axis=1, norm="ortho"))


@cache
def _bands() -> NDArray[np.float64]:
    """Triangular filters on the mel scale, shape (bands, bins)."""
    low, high = (1127 * np.log1p(hz / 700) for hz in (_LOW_HZ, _HIGH_HZ))
    corners = 700 * np.expm1(np.linspace(low, high, _BANDS + 2) / 1127)
    bins = np.fft.rfftfreq(_TRANSFORM, 1 / RATE_HZ)
    rising = (bins - corners[:-2, None]) / (corners[1:-1] - corners[:-2])[:, None]
    falling = (corners[2:, None] - bins) / (corners[2:] - corners[1:-1])[:, None]
    return np.asarray(np.clip(np.minimum(rising, falling), 0, None))
