"""True edges and cut points, on levels drawn by hand."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.signal import lfilter

from lessoncut.hearing.cuts import PAD_AFTER_MS, PAD_BEFORE_MS, cut_points
from lessoncut.hearing.edge_nets import QUANTILES, SIDES, EdgeNets, fitted, packed, unpacked
from lessoncut.hearing.edge_views import end_views
from lessoncut.hearing.edges import LIKELY, backwards, true_edges
from lessoncut.take.levels import HOP_MS, Decibels, Levels, decibels
from lessoncut.times import Span
from tests.evaluation.signals import EDGE_DEPTH_DB

FLOOR_DB = -65.0
WHOLE = Span(0, 5000)
SPOKEN = [Span(at, at + 1000) for at in range(1000, 16_000, 3000)]
"""Lines while they are loud; they rise and fall around that."""
RISE_DB, FALL_DB = (-55.0, -45.0, -33.0), (-30.0, -35.0, -40.0, -45.0, -50.0, -55.0)
TRUE = [Span(line.start_ms - 30, line.end_ms + 60) for line in SPOKEN]
"""All of them that is within ``EDGE_DEPTH_DB`` of a line's loudest part."""
TAKE_MS = 17_000
CLIPPED_MS, LOOSE_MS = 30, 80
"""So much of a line may be lost, and so much room be left around it, on levels that nobody speaks like."""


def levels(*loud: tuple[int, int, float], floor_db: float = FLOOR_DB) -> Levels:
    """A quiet room with these stretches (start ms, end ms, dB)."""
    longest_ms = max(WHOLE.end_ms, *(end_ms for _, end_ms, _ in loud))
    band = np.full(longest_ms // HOP_MS, floor_db, dtype=np.float32)
    for start_ms, end_ms, level_db in loud:
        band[start_ms // HOP_MS : end_ms // HOP_MS] = level_db
    return Levels(band, np.full_like(band, floor_db))


def a_take(room_db: float = FLOOR_DB, echo_ms_a_db: float = 0.0, *also: tuple[int, int, float]) -> Levels:
    """Five lines in a room, and in each place before or behind a line's loud part (ms from it) something else."""
    level_db = np.full(TAKE_MS // HOP_MS, -120.0)
    for line in SPOKEN:
        first, last = line.start_ms // HOP_MS, line.end_ms // HOP_MS
        level_db[first:last] = -22 - 8 * np.sin(np.arange(last - first) * 2 * np.pi / 22) ** 2
        level_db[first - len(RISE_DB) : first] = RISE_DB
        level_db[last : last + len(FALL_DB)] = FALL_DB
        for from_ms, to_ms, also_db in also:
            near = last if from_ms >= 0 else first
            level_db[near + from_ms // HOP_MS : near + to_ms // HOP_MS] = also_db
    rng = np.random.default_rng(1)

    def heard(band_db: Decibels, band_room_db: float) -> Decibels:
        power = 10 ** (band_db / 10)
        if echo_ms_a_db:
            lost = 10 ** (-1 / echo_ms_a_db)
            power = power + lfilter([0, 1 - lost], [1, -lost], power) / 3
        return decibels(power + 10 ** ((band_room_db + rng.normal(0, 0.5, len(band_db))) / 10))

    return Levels(heard(level_db, room_db), heard(level_db - 15, room_db - 6))


def edges_in(take: Levels, laid: Sequence[Span] = SPOKEN) -> list[Span]:
    return true_edges(take, laid, limits_of(laid, take.duration_ms))


def limits_of(laid: Sequence[Span], last_ms: int) -> list[Span]:
    starts = [0, *(span.end_ms for span in laid[:-1])]
    ends = [*(span.start_ms for span in laid[1:]), last_ms]
    return [Span(*limits) for limits in zip(starts, ends, strict=True)]


def outside_ms(found: Sequence[Span]) -> tuple[float, float]:
    """How far they start before the true starts and end behind the true ends, in the middle of all."""
    starts = [true.start_ms - one.start_ms for one, true in zip(found, TRUE, strict=True)]
    return float(np.median(starts)), float(np.median([a.end_ms - b.end_ms for a, b in zip(found, TRUE, strict=True)]))


def test_the_lines_here_are_as_deep_as_a_line_is() -> None:
    assert max(-22 - EDGE_DEPTH_DB, FLOOR_DB) < min(RISE_DB[0], FALL_DB[-1])


@pytest.mark.parametrize(("earlier_ms", "later_ms"), [(0, 0), (60, 0), (-50, 0), (0, 100), (0, 200), (-30, -30)])
def test_a_soft_onset_and_a_fading_end_belong_to_a_line_wherever_near_it_was_laid(
    earlier_ms: int, later_ms: int
) -> None:
    laid = [Span(line.start_ms - earlier_ms, line.end_ms + later_ms) for line in SPOKEN]
    assert all(-CLIPPED_MS <= more_ms <= LOOSE_MS for more_ms in outside_ms(edges_in(a_take(), laid)))


def test_the_longer_the_echo_of_a_room_the_less_of_it_is_taken_for_a_voice() -> None:
    found_ms, fallen_ms = [], []
    for echo_ms_a_db in (6.0, 10.0):
        take = a_take(-70.0, echo_ms_a_db)
        behind = take.voice_db[SPOKEN[0].end_ms // HOP_MS :]
        fallen_ms.append(int((behind < take.voice_db.max() - EDGE_DEPTH_DB).argmax()) * HOP_MS)
        found_ms.append(outside_ms(edges_in(take))[1])
    assert fallen_ms[1] - fallen_ms[0] >= 100
    assert found_ms[1] - found_ms[0] < 0.3 * (fallen_ms[1] - fallen_ms[0])
    assert all(ms >= -CLIPPED_MS for ms in found_ms)


def test_a_click_before_the_line_does_not_belong_to_it() -> None:
    assert outside_ms(edges_in(a_take(FLOOR_DB, 0.0, (-120, -100, -35.0))))[0] <= 40


@pytest.mark.parametrize("room_db", [-50.0, -45.0])
def test_a_voice_goes_on_a_little_under_a_loud_room(room_db: float) -> None:
    assert all(-CLIPPED_MS <= more_ms <= 130 for more_ms in outside_ms(edges_in(a_take(room_db))))


def test_where_nothing_is_recorded_between_the_lines_their_edges_are_the_same() -> None:
    assert all(-CLIPPED_MS <= more_ms <= LOOSE_MS for more_ms in outside_ms(edges_in(a_take(-120.0))))


def test_a_breath_before_the_line_does_not_belong_to_it() -> None:
    assert outside_ms(edges_in(a_take(FLOOR_DB, 0.0, (-350, -90, -50.0))))[0] <= 40


def test_a_release_behind_its_closure_does() -> None:
    released = outside_ms(edges_in(a_take(FLOOR_DB, 0.0, (60, 110, -120.0), (110, 140, -38.0))))[1]
    assert released >= 140 - 60 - CLIPPED_MS


def test_a_voice_that_goes_on_behind_the_laid_end_is_the_lines() -> None:
    assert outside_ms(edges_in(a_take(FLOOR_DB, 0.0, (0, 200, -28.0))))[1] >= 200 - 60 - CLIPPED_MS


def test_edges_stay_within_their_limits() -> None:
    take = a_take(FLOOR_DB, 0.0, (-150, 0, -25.0), (0, 230, -25.0))
    limits = [Span(line.start_ms - 50, line.end_ms + 40) for line in SPOKEN]
    assert true_edges(take, SPOKEN, limits) == limits


def test_two_lines_without_a_pause_are_parted_where_it_is_quietest() -> None:
    drawn = levels((1000, 2000, -20.0), (2000, 2060, -35.0), (2060, 3000, -20.0))
    first, second = true_edges(drawn, [Span(1000, 1990), Span(2080, 3000)], [Span(0, 2080), Span(1990, 5000)])
    assert first.end_ms <= second.start_ms
    assert 1990 <= first.end_ms <= 2080


def test_a_start_is_the_end_of_what_is_played_backwards() -> None:
    take = a_take()
    laid = backwards(SPOKEN[::-1], TAKE_MS)
    other = dict(zip(SIDES, SIDES[::-1], strict=True))
    found = true_edges(take.backwards, laid, limits_of(laid, TAKE_MS), lambda side: fitted(other[side]))
    assert backwards(found[::-1], TAKE_MS) == edges_in(take)


def test_no_line_has_no_edges() -> None:
    assert true_edges(a_take(), [], []) == []


def test_networks_add_and_cut_off_as_plain_sums_do() -> None:
    """Beside loops over every weight."""
    rng = np.random.default_rng(2)
    sizes = (4, 3, len(QUANTILES))
    nets = EdgeNets(
        tuple((rng.normal(size=(2, a, b)), rng.normal(size=(2, b))) for a, b in pairwise(sizes)),
    )
    views = rng.normal(size=(5, 4))

    def told(net: int, view: Sequence[float]) -> list[float]:
        for at, (weights, added) in enumerate(nets.layers):
            sums = [
                sum(x * weights[net, i, j] for i, x in enumerate(view)) + added[net, j] for j in range(sizes[at + 1])
            ]
            view = [max(0.0, x) for x in sums] if at == 0 else sums
        return list(view)

    plain = [[30 * (a + b) / 2 for a, b in zip(told(0, view), told(1, view), strict=True)] for view in views]
    assert nets.quantiles_ms(views[None])[0] == pytest.approx(np.array(plain))


def test_networks_are_kept_by_name() -> None:
    nets = {side: fitted(side) for side in SIDES}
    kept = packed(nets)
    for side in SIDES:
        again = unpacked(kept, side)
        assert all(
            (a == b).all()
            for before, after in zip(nets[side].layers, again.layers, strict=True)
            for a, b in zip(before, after, strict=True)
        )


def test_an_edge_in_what_is_loud_moves_behind_it_by_two_frames_at_the_most() -> None:
    """Loud is what stands out of the room within 28 dB of the line; nets that know nothing tell where it is laid."""
    laid, edge_ms = Span(1000, 2000), 2030

    def end_ms(*levels_db: float, room_db: float = FLOOR_DB) -> int:
        behind = [(edge_ms + 10 * at, edge_ms + 10 * at + 10, level_db) for at, level_db in enumerate(levels_db)]
        take = levels((0, 5000, room_db), (1000, edge_ms, -20.0), *behind)
        numbers = end_views(take, [laid], [WHOLE]).shape[-1]
        nothing = EdgeNets(((np.zeros((1, numbers, len(QUANTILES))), np.zeros((1, len(QUANTILES)))),))
        (found,) = true_edges(take, [laid], [WHOLE], lambda _: nothing)
        return found.end_ms

    assert end_ms() == edge_ms
    assert end_ms(-47.0) == edge_ms + 10
    assert end_ms(-47.0, -47.0, -47.0) == edge_ms + 20
    assert end_ms(-60.0, -47.0) == end_ms(-49.0) == edge_ms
    assert end_ms(-47.0, room_db=-49.0) == edge_ms


def test_what_is_more_likely_lies_further_outside() -> None:
    """Quantiles of the same edge, told from the takes of above; ``LIKELY`` is the one that is believed."""
    for side in SIDES:
        told = np.median(fitted(side).quantiles_ms(end_views(a_take(), SPOKEN, limits_of(SPOKEN, TAKE_MS)))[0], axis=0)
        assert told[0] < told[LIKELY] < told[-1] + 3


@given(st.lists(st.tuples(st.integers(0, 400), st.integers(30, 900)), min_size=1, max_size=8), st.randoms())
def test_true_edges_are_spans_in_order(steps: list[tuple[int, int]], random: Random) -> None:
    laid, at = [], 300
    for pause, length in steps:
        laid.append(Span(at + pause, at + pause + length))
        at += pause + length
    band = np.array([random.uniform(-70, -20) for _ in range(at // HOP_MS + 60)], np.float32)
    starts = [0, *(span.end_ms for span in laid[:-1])]
    ends = [*(span.start_ms for span in laid[1:]), len(band) * HOP_MS]
    found = true_edges(Levels(band, band - 10), laid, [Span(*limits) for limits in zip(starts, ends, strict=True)])
    assert all(a.end_ms <= b.start_ms for a, b in pairwise(found))
    assert all(span.overlap_ms(line) > 0 for span, line in zip(found, laid, strict=True))


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


def test_a_breath_right_before_a_line_is_cut_with_it() -> None:
    """And the line before ends before it."""
    first, breath, second = Span(1000, 2000), Span(2300, 2500), Span(2600, 3600)
    drawn = levels((1000, 2000, -20.0), (2300, 2500, -45.0), (2600, 3600, -20.0))
    left, right = cut_points(drawn, [first, second], [], [breath])
    assert left.end_ms == first.end_ms + PAD_AFTER_MS
    assert right.start_ms == breath.start_ms - PAD_BEFORE_MS
    # One drawn long before belongs to nothing, nor does one in which somebody else speaks.
    [alone] = cut_points(drawn, [second], [], [Span(2000, 2200)])
    assert alone.start_ms == second.start_ms - PAD_BEFORE_MS
    [after_talk] = cut_points(drawn, [second], [Span(2400, 2550)], [breath])
    assert 2550 <= after_talk.start_ms <= second.start_ms
