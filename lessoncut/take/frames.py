"""The grid that a picture's frames lie on, found from their real times."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from lessoncut.times import FrameRate

COMMON_RATES = tuple(
    Fraction(*rate)
    for rate in (
        (24_000, 1001), (24, 1), (25, 1), (30_000, 1001), (30, 1), (48_000, 1001), (48, 1), (50, 1), (60_000, 1001),
        (60, 1), (100, 1), (120_000, 1001), (120, 1), (8, 1), (10, 1), (12, 1), (25, 2), (15_000, 1001), (15, 1),
        (20, 1), (240, 1),
    )
)  # fmt: skip

TOLERANCE_FRAMES = 0.5
"""A frame further than this from its place belongs to its neighbour's place."""

_FALLBACK = Fraction(25)
_NEAR = 0.03


def frame_grid(
    times: NDArray[np.int64], time_base: Fraction, declared: Iterable[Fraction | None]
) -> tuple[FrameRate, bool]:
    """The exact rate, and whether the frames are steady: frame ``n`` within half a frame of ``n / rate``.

    ``times``: when each frame is shown, in ``time_base`` seconds, in any order. ``declared``: what the file says.
    A file that rounds its times, or counts in milliseconds, gets the common rate that it stands for; unsteady frames
    get the common rate nearest to their usual distance.
    """
    sane = [rate for rate in declared if rate and 1 <= rate <= 240]
    if len(times) < 2:
        return FrameRate(sane[0] if sane else _FALLBACK), False
    shown = np.sort(times)
    # A short take with jitter fits 29.97 as well as 30: what the file says decides, and then what fits best.
    for rates in ([rate for rate in sane if rate in COMMON_RATES], COMMON_RATES, sane):
        best = min(rates, key=lambda rate: _worst_offset(shown, time_base, rate), default=None)
        if best and _worst_offset(shown, time_base, best) < TOLERANCE_FRAMES:
            return FrameRate(best), True
    return FrameRate(_usual_rate(shown, time_base)), False


def _worst_offset(shown: NDArray[np.int64], time_base: Fraction, rate: Fraction) -> float:
    """How far a frame lies from its place at most, in frames."""
    places = (shown - shown[0]) * float(time_base * rate)
    return float(np.abs(places - np.arange(len(shown))).max())


def _usual_rate(shown: NDArray[np.int64], time_base: Fraction) -> Fraction:
    distance = int(np.median(np.diff(shown)))
    if distance <= 0:
        return _FALLBACK
    usual = min(max(1 / (distance * time_base), Fraction(1)), Fraction(240))
    nearest = min(COMMON_RATES, key=lambda rate: abs(rate - usual))
    return nearest if abs(nearest - usual) <= _NEAR * usual else usual.limit_denominator(1001)
