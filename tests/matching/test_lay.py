"""Which stretches of sound a line may fill."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from lessoncut.matching.lay import MOST_STRETCHES, stretches
from lessoncut.times import Span


def rows_of(lengths: list[tuple[int, int]]) -> list[Span]:
    spans, at_ms = [], 0
    for pause_ms, length_ms in lengths:
        spans.append(Span(at_ms + pause_ms, at_ms + pause_ms + length_ms))
        at_ms = spans[-1].end_ms
    return spans


def test_of_a_long_line_with_a_pause_at_every_comma_the_whole_is_among_them() -> None:
    commas = rows_of([(600, 900)] * 7)
    assert Span(600, commas[-1].end_ms) in stretches(commas, 7 * 1300.0)
    assert commas[3] in stretches(commas, 1000.0)


@given(st.lists(st.tuples(st.integers(0, 900), st.integers(1, 4000)), min_size=1, max_size=9), st.floats(50, 20_000))
def test_the_nearest_to_what_is_expected_in_order_of_length(lengths: list[tuple[int, int]], expected_ms: float) -> None:
    speech = rows_of(lengths)
    found = stretches(speech, expected_ms)
    assert len(found) == min(MOST_STRETCHES, len(speech) * (len(speech) + 1) // 2)
    assert len(set(found)) == len(found)
    assert [span.length_ms for span in found] == sorted(span.length_ms for span in found)
    assert all(
        span.start_ms in {s.start_ms for s in speech} and span.end_ms in {s.end_ms for s in speech} for span in found
    )
