"""The learner's gap.

The golden values are worked examples of the model, computed apart from this code by hand and by script; the model's
parameters are our own design values (see ``lessoncut.lesson.pacing``).
"""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessoncut.errors import ChoiceError
from lessoncut.lesson.pacing import LEVELS, Pacing, gap_size

GOLDEN = """
    0.8  3   2.4  2.1  1.9  1.7  1.5  1.5
    1.2  5   3.3  2.9  2.5  2.2  2.0  1.7
    2.0  8   4.7  4.0  3.5  3.1  2.8  2.5
    2.4  8   4.9  4.4  4.0  3.6  3.3  2.9
    3.0 12   6.5  5.6  4.8  4.3  3.9  3.5
    4.0 16   8.0* 7.1  6.2  5.5  5.0  4.5
    5.0 20   8.0* 8.0* 7.5  6.7  6.1  5.5
    6.0 24   8.0* 8.0* 8.8  7.9  7.2  6.5
"""
"""Spoken seconds, syllables, then the gap at A1, A2, B1, B2, C1, C2; a star where the model asks for more."""
CASES = [
    (round(float(row.split()[0]) * 1000), int(row.split()[1]), level, value)
    for row in GOLDEN.strip().splitlines()
    for level, value in zip(LEVELS, row.split()[2:], strict=True)
]
lengths = st.integers(0, 20_000)
counts = st.integers(0, 60)
levels = st.sampled_from(list(LEVELS))


@pytest.mark.parametrize(("spoken_ms", "syllables", "level", "value"), CASES)
def test_golden_values(spoken_ms: int, syllables: int, level: str, value: str) -> None:
    size = gap_size(spoken_ms, syllables, Pacing(level))
    assert size.gap_ms == round(float(value.rstrip("*")) * 1000)
    assert size.clamped == value.endswith("*")


@given(lengths, lengths, counts, counts, levels)
def test_a_longer_line_never_gets_less(one_ms: int, other_ms: int, few: int, many: int, level: str) -> None:
    pacing = Pacing(level)
    shorter = gap_size(min(one_ms, other_ms), min(few, many), pacing)
    longer = gap_size(max(one_ms, other_ms), max(few, many), pacing)
    assert shorter.gap_ms <= longer.gap_ms
    assert shorter.clamped <= longer.clamped


@given(st.integers(0, 4000), st.integers(0, 14))
def test_a_lower_level_never_gets_less(spoken_ms: int, syllables: int) -> None:
    """As far as no level is clamped: the lowest levels have the shortest longest gap, so that lines are split."""
    sizes = [gap_size(spoken_ms, syllables, Pacing(level)) for level in LEVELS]
    gaps = [size.gap_ms for size in sizes if not size.clamped]
    assert gaps == sorted(gaps, reverse=True)


@given(
    lengths,
    counts,
    levels,
    st.none() | st.fractions(0, 4),
    st.none() | st.integers(0, 3000),
    st.integers(0, 3000),
    st.none() | st.integers(3000, 20_000),
)
def test_against_the_formula_in_plain_numbers(
    spoken_ms: int,
    syllables: int,
    level: str,
    factor: Fraction | None,
    reaction_ms: int | None,
    least_ms: int,
    most_ms: int | None,
) -> None:
    pacing = Pacing(level, factor=factor, reaction_ms=reaction_ms, least_ms=least_ms, most_ms=most_ms)
    table = LEVELS[level]
    times = float(table.factor if factor is None else factor)
    reaction_s = (table.reaction_ms if reaction_ms is None else reaction_ms) / 1000
    most_s = (table.most_ms if most_ms is None else most_ms) / 1000
    asked_s = reaction_s + max(times * spoken_ms / 1000, syllables / float(table.rate))
    size = gap_size(spoken_ms, syllables, pacing)
    assert least_ms <= size.gap_ms <= most_s * 1000 + 1e-6
    floored = min(max(asked_s, least_ms / 1000), most_s)
    assert floored - 1e-6 <= size.gap_ms / 1000 < math.ceil(floored * 10 + 1e-6) / 10 + 0.1
    if abs(asked_s - most_s) > 1e-6:
        assert size.clamped == (asked_s > most_s)


@pytest.mark.parametrize(
    ("options", "says"),
    [
        ({"level": "D7"}, "no level 'D7'"),
        ({"least_ms": 9000, "most_ms": 8000}, "longer than the most"),
        ({"least_ms": 9500}, "longer than the most"),
        ({"factor": Fraction(-1)}, "factor cannot be negative"),
        ({"reaction_ms": -5}, "reaction cannot be negative"),
    ],
)
def test_what_cannot_be(options: dict[str, object], says: str) -> None:
    with pytest.raises(ChoiceError, match=says):
        Pacing(**options)  # type: ignore[arg-type]
