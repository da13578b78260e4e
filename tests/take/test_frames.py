"""Published rates: 24000/1001, 30000/1001 and 60000/1001 are SMPTE ST 12-1's and ITU-R BT.601/709's (from memory)."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessoncut.take.frames import COMMON_RATES, frame_grid
from lessoncut.times import FrameRate

NTSC = Fraction(30_000, 1001)
MILLISECONDS = Fraction(1, 1000)


def shown(
    rate: Fraction, frames: int, time_base: Fraction, start: int = 0
) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    """Times on the grid, rounded half up to whole ticks."""
    distance, parts = (1 / (rate * time_base)).as_integer_ratio()
    ticks = [start + (2 * n * distance + parts) // (2 * parts) for n in range(frames)]
    return np.array(ticks, dtype=np.int64)


@pytest.mark.parametrize("rate", COMMON_RATES)
@pytest.mark.parametrize("seconds", [2, 600])
def test_a_common_rate_is_known_from_rounded_times(rate: Fraction, seconds: int) -> None:
    times = shown(rate, round(seconds * rate), MILLISECONDS)
    assert frame_grid(times, MILLISECONDS, [None]) == (FrameRate(rate), True)


@given(
    st.sampled_from(COMMON_RATES),
    st.integers(2, 500),
    st.integers(-(10**9), 10**9),
    st.randoms(use_true_random=False),
)
def test_order_and_start_do_not_matter(rate: Fraction, frames: int, start: int, random: object) -> None:
    base = 1 / (rate * 1000)
    times = shown(rate, frames, base, start)
    mixed = times.copy()
    random.shuffle(mixed)  # type: ignore[attr-defined]
    assert frame_grid(mixed, base, [rate]) == (FrameRate(rate), True)


def test_3_hours_of_30_are_not_29_97() -> None:
    """The two drift apart by 324 frames (0.1% of 324,000): rounding must not hide it."""
    times = shown(Fraction(30), 324_000, MILLISECONDS)
    assert frame_grid(times, MILLISECONDS, [NTSC]) == (FrameRate(Fraction(30)), True)


def test_a_rate_nobody_uses_is_taken_from_the_file_when_the_frames_keep_it() -> None:
    odd = Fraction(2657, 100)
    times = shown(odd, 20_000, Fraction(1, 90_000))
    assert frame_grid(times, Fraction(1, 90_000), [odd]) == (FrameRate(odd), True)


def test_the_files_rounding_of_ntsc_is_ntsc() -> None:
    """AVI writers put 2997/100 where 30000/1001 is meant (common practice, no source)."""
    times = shown(Fraction(2997, 100), 1000, Fraction(100, 2997))
    assert frame_grid(times, Fraction(100, 2997), [Fraction(2997, 100)]) == (FrameRate(NTSC), True)


@pytest.mark.parametrize(("late_frames", "steady"), [(0.3, True), (0.45, True), (0.55, False), (1.0, False)])
def test_the_tolerance_is_half_a_frame(late_frames: float, steady: bool) -> None:
    base = Fraction(1, 30_000)
    times = shown(Fraction(30), 600, base)
    times[300] += round(late_frames * 1000)
    assert frame_grid(times, base, [Fraction(30)]) == (FrameRate(Fraction(30)), steady)


def test_one_dropped_frame_moves_all_that_follow() -> None:
    times = np.delete(shown(Fraction(30), 600, MILLISECONDS), 200)
    assert frame_grid(times, MILLISECONDS, [Fraction(2995, 100)]) == (FrameRate(Fraction(30)), False)


def test_a_phone_that_slows_down_in_the_dark_gets_its_usual_rate() -> None:
    distances = np.array([33, 33, 34] * 200 + [66, 67, 67] * 60)
    times = np.concatenate([[0], np.cumsum(distances)]).astype(np.int64)
    assert frame_grid(times, MILLISECONDS, [Fraction(2488, 100)]) == (FrameRate(Fraction(30)), False)


@pytest.mark.parametrize("times", [[], [7], [5, 5, 5], [0, 10**15]])
def test_pictures_that_have_no_rate_still_get_a_sane_one(times: list[int]) -> None:
    rate, steady = frame_grid(np.array(times, dtype=np.int64), MILLISECONDS, [Fraction(90_000), None])
    assert 1 <= rate.per_second <= 240
    assert not steady
