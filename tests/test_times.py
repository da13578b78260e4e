"""Time arithmetic that everything stands on."""

from __future__ import annotations

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from lessoncut.times import Span


@given(st.integers(0, 10_000), st.integers(0, 5000), st.integers(1, 40))
def test_equal_parts_fill_the_span_and_differ_by_a_rounding(start_ms: int, length_ms: int, count: int) -> None:
    whole = Span(start_ms, start_ms + length_ms)
    parts = whole.parts(count)
    assert len(parts) == count
    assert (parts[0].start_ms, parts[-1].end_ms) == (whole.start_ms, whole.end_ms)
    assert all(before.end_ms == after.start_ms for before, after in pairwise(parts))
    lengths_ms = {part.length_ms for part in parts}
    assert max(lengths_ms) - min(lengths_ms) <= 1


def test_no_parts_of_a_span_are_none() -> None:
    assert Span(100, 200).parts(0) == []
