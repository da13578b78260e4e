"""The grid of frames."""

from fractions import Fraction

import pytest

from lessoncut.timeline.grid import grid_rate, ground_of
from tests.lesson.telling import take_of


@pytest.mark.parametrize(
    ("rate", "steady", "grid"),
    [
        (Fraction(30000, 1001), True, Fraction(30000, 1001)),
        (Fraction(25), True, Fraction(25)),
        (Fraction(15), True, Fraction(15)),
        # Variable: the nearest steady rate. Phones report means like these.
        (Fraction(2987, 100), False, Fraction(30000, 1001)),
        (Fraction(30), False, Fraction(30)),
        (Fraction(5871, 100), False, Fraction(60000, 1001)),
        (Fraction(12), False, Fraction(24000, 1001)),
        (Fraction(240), True, Fraction(60)),
        (None, True, Fraction(100)),
    ],
)
def test_the_rate_of_the_grid(rate: Fraction | None, steady: bool, grid: Fraction) -> None:
    assert grid_rate(take_of(1000, rate=rate, steady=steady)).per_second == grid


def test_frames_count_from_the_start_of_their_file() -> None:
    ground = ground_of(take_of(10_010, 5000, rate=25))
    assert [ground.file_at(at_ms) for at_ms in (0, 10_009, 10_010, 15_009, 15_010)] == [0, 0, 1, 1, 1]
    assert ground.take_ms(1, 3) == 10_130
    assert (ground.floor(1, 10_049), ground.ceil(1, 10_051)) == (0, 2)
