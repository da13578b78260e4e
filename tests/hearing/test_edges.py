"""True edges and cut points, on levels drawn by hand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessoncut.hearing.edges import EARLIER_MS, LATER_MS, PAD_AFTER_MS, PAD_BEFORE_MS, cut_points, true_edges
from lessoncut.take.levels import HOP_MS, Levels
from lessoncut.times import Span

FLOOR_DB = -65.0
WHOLE = Span(0, 5000)


def levels(*loud: tuple[int, int, float]) -> Levels:
    """A quiet room with these stretches (start ms, end ms, dB)."""
    band = np.full(WHOLE.end_ms // HOP_MS, FLOOR_DB, dtype=np.float32)
    for start_ms, end_ms, level_db in loud:
        band[start_ms // HOP_MS : end_ms // HOP_MS] = level_db
    return Levels(band, np.full_like(band, FLOOR_DB))


def test_a_soft_onset_and_a_fading_end_belong_to_the_line() -> None:
    drawn = levels((930, 1000, -50.0), (1000, 2000, -20.0), (2000, 2120, -50.0))
    assert true_edges(drawn, Span(1000, 2000), WHOLE) == Span(930, 2120)


def test_a_click_before_the_line_does_not() -> None:
    drawn = levels((880, 900, -30.0), (1000, 2000, -20.0))
    assert true_edges(drawn, Span(1000, 2000), WHOLE).start_ms == 1000


def test_the_burst_after_a_closure_does() -> None:
    drawn = levels((1000, 2000, -20.0), (2030, 2060, -35.0))
    assert true_edges(drawn, Span(1000, 2000), WHOLE).end_ms == 2060


def test_edges_stay_within_their_limits() -> None:
    drawn = levels((850, 2230, -20.0))
    found = true_edges(drawn, Span(1000, 2000), Span(950, 2040))
    assert found == Span(950, 2040)
    free = true_edges(drawn, Span(1000, 2000), WHOLE)
    assert free == Span(1000 - EARLIER_MS, 2230)
    assert free.end_ms <= 2000 + LATER_MS


def test_a_reading_alone_is_cut_with_both_pads() -> None:
    drawn = levels((1000, 2000, -20.0))
    assert cut_points(drawn, [Span(1000, 2000)], []) == [Span(1000 - PAD_BEFORE_MS, 2000 + PAD_AFTER_MS)]


@given(st.lists(st.integers(20, 600), min_size=2, max_size=12))
def test_cuts_hold_their_reading_and_never_reach_into_another(steps: list[int]) -> None:
    marks = np.cumsum([100, *steps])
    spans = [Span(int(a), int(b)) for a, b in zip(marks[::2], marks[1::2], strict=False)]
    drawn = levels(*((s.start_ms, s.end_ms, -20.0) for s in spans))
    cuts = cut_points(drawn, spans, [])
    for at, (reading, cut) in enumerate(zip(spans, cuts, strict=True)):
        assert cut.start_ms <= reading.start_ms <= reading.end_ms <= cut.end_ms
        assert all(cut.overlap_ms(other) == 0 for other in spans[:at] + spans[at + 1 :])


@pytest.mark.parametrize("gap_ms", [40, 80, 150])
def test_close_neighbours_are_cut_in_the_quiet_between(gap_ms: int) -> None:
    first, second = Span(1000, 2000), Span(2000 + gap_ms, 3000)
    drawn = levels((1000, 2000, -20.0), (2000 + gap_ms, 3000, -20.0))
    left, right = cut_points(drawn, [first, second], [])
    assert first.end_ms <= left.end_ms <= second.start_ms
    assert first.end_ms <= right.start_ms <= second.start_ms
