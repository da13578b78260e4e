"""True edges and cut points, on levels drawn by hand."""

from __future__ import annotations

from itertools import pairwise
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessoncut.hearing.cuts import PAD_AFTER_MS, PAD_BEFORE_MS, cut_points
from lessoncut.hearing.edges import (
    COVERED_MARGIN_MS,
    DEPTH_A_FADING,
    EARLIER_MS,
    ECHO_DEPTH_DB,
    FAINT_MARGIN_MS,
    FALLING_MS_A_DB,
    LATER_MS,
    LATEST_MS,
    LIVE_MARGIN_MS,
    LIVE_STOP_MARGIN_MS,
    MARGIN_MS,
    RISING_MS_A_DB,
    SAY,
    SAY_IN_A_HALL,
    SAY_IN_NOISE,
    START_MARGIN_MS,
    SUDDEN_MARGIN_MS,
    SUDDEN_MS_A_DB,
    AlignersSay,
    true_edges,
)
from lessoncut.hearing.last_sounds import (
    BURST_MS,
    HIDDEN_RELEASE_MS,
)
from lessoncut.hearing.outlines import (
    CLOSURE_MS,
    DEPTH_DB,
    DRY_MS_A_DB,
    VOICE_OVER_DB,
    Outline,
)
from lessoncut.take.levels import HOP_MS, Levels
from lessoncut.times import Span

FLOOR_DB = -65.0
WHOLE = Span(0, 5000)
SMEAR_MS = 10
"""Levels are smoothed over three frames."""


def levels(*loud: tuple[int, int, float], floor_db: float = FLOOR_DB) -> Levels:
    """A quiet room with these stretches (start ms, end ms, dB)."""
    longest_ms = max(WHOLE.end_ms, *(end_ms for _, end_ms, _ in loud))
    band = np.full(longest_ms // HOP_MS, floor_db, dtype=np.float32)
    for start_ms, end_ms, level_db in loud:
        band[start_ms // HOP_MS : end_ms // HOP_MS] = level_db
    return Levels(band, np.full_like(band, floor_db))


def edges_of(drawn: Levels, laid: Span, limits: Span = WHOLE) -> Span:
    return true_edges(drawn, [laid], [limits])[0]


def test_a_soft_onset_and_a_fading_end_belong_to_the_line() -> None:
    drawn = levels((930, 1000, -50.0), (1000, 2000, -20.0), (2000, 2120, -50.0))
    found = edges_of(drawn, Span(1000, 2000))
    assert found.start_ms == pytest.approx(930 - START_MARGIN_MS, abs=SMEAR_MS)
    assert found.end_ms == pytest.approx(2120 + MARGIN_MS, abs=SMEAR_MS)


@pytest.mark.parametrize(
    ("goes_on_ms", "level_db", "reach_ms"),
    [
        (LATER_MS + 100, -25.0, LATER_MS + 100),
        (LATEST_MS + 200, -25.0, LATER_MS),  # somebody speaks on
        (LATER_MS + 100, -45.0, LATER_MS),  # too faint for a voice
    ],
)
def test_a_voice_that_goes_on_far_behind_the_laid_end_is_the_lines_if_it_falls_quiet_soon(
    goes_on_ms: int, level_db: float, reach_ms: int
) -> None:
    drawn = levels((1000, 2000, -20.0), (2000, 2000 + goes_on_ms, level_db))
    end_ms = edges_of(drawn, Span(1000, 2000)).end_ms
    assert end_ms == pytest.approx(2000 + reach_ms + MARGIN_MS, abs=SMEAR_MS)


def test_silence_that_the_aligner_took_in_does_not() -> None:
    drawn = levels((1040, 1800, -20.0))
    found = edges_of(drawn, Span(1000, 2000))
    assert found.start_ms == pytest.approx(1040 - START_MARGIN_MS, abs=SMEAR_MS)
    assert found.end_ms == pytest.approx(1800 + MARGIN_MS, abs=SMEAR_MS)


def test_a_click_before_the_line_does_not() -> None:
    drawn = levels((880, 900, -30.0), (1000, 2000, -20.0))
    assert edges_of(drawn, Span(1000, 2000)).start_ms == pytest.approx(1000 - START_MARGIN_MS, abs=SMEAR_MS)


@pytest.mark.parametrize("laid_ms", [890, 950, 1000, 1050])
def test_a_breath_before_the_line_does_not_wherever_between_both_it_was_laid(laid_ms: int) -> None:
    drawn = levels((790, 880, -45.0), (1050, 2000, -20.0))
    assert edges_of(drawn, Span(laid_ms, 2000)).start_ms == pytest.approx(1050 - START_MARGIN_MS, abs=SMEAR_MS)


def test_the_burst_after_a_closure_does() -> None:
    drawn = levels((1000, 2000, -20.0), (2090, 2120, -35.0))
    assert edges_of(drawn, Span(1000, 2000)).end_ms == pytest.approx(2120 + MARGIN_MS, abs=SMEAR_MS)


def test_what_fades_out_before_the_line_is_parted_from_it_where_it_is_faintest() -> None:
    drawn = levels((0, 900, -30.0), (900, 950, -50.0), (950, 1000, -35.0), (1000, 2000, -20.0))
    assert edges_of(drawn, Span(1000, 2000)).start_ms == pytest.approx(925, abs=25)


def a_room(ms_a_db: float) -> tuple[Levels, list[Span]]:
    """A room where sound falls by a dB in so long, and five lines as they are laid in it."""
    laid = [Span(at, at + 1000) for at in range(1000, 16_000, 3000)]
    steps = range(0, round(45 * ms_a_db), 10)
    falls = [(line.end_ms + t, line.end_ms + t + 10, -20.0 - t / ms_a_db) for line in laid for t in steps]
    return levels(*((line.start_ms, line.end_ms, -20.0) for line in laid), *falls), laid


def ends_in_a_room(ms_a_db: float, outline: Outline) -> list[int]:
    """How far behind their laid ends such lines end there."""
    drawn, laid = a_room(ms_a_db)
    found = true_edges(drawn, laid, [Span(0, drawn.duration_ms)] * len(laid), [outline] * len(laid))
    return [edge.end_ms - line.end_ms for line, edge in zip(laid, found, strict=True)]


def test_the_echo_of_a_live_room_is_no_voice() -> None:
    """Sound falls by 60 dB in 0.36 s, 6 ms a dB: so slowly at every line's end that it must be the room's doing."""
    depth_db = DEPTH_DB - DEPTH_A_FADING * (6 - DRY_MS_A_DB)
    assert ends_in_a_room(6, Outline()) == [pytest.approx(6 * depth_db, abs=20)] * 5
    # One line alone tells nothing of the room: its whole fall is taken for its own.
    drawn, laid = a_room(6)
    assert edges_of(drawn, laid[0]).end_ms - laid[0].end_ms == pytest.approx(6 * DEPTH_DB, abs=20)


@pytest.mark.parametrize(("ms_a_db", "say", "margin_ms"), [(8.5, SAY, LIVE_MARGIN_MS), (13.0, SAY_IN_A_HALL, 0)])
def test_in_a_very_live_room_what_lies_far_behind_the_laid_end_is_partly_echo(
    ms_a_db: float, say: AlignersSay, margin_ms: int
) -> None:
    depth_db = max(ECHO_DEPTH_DB, DEPTH_DB - DEPTH_A_FADING * (ms_a_db - DRY_MS_A_DB))
    whole_ms = min(LATER_MS, ms_a_db * depth_db) + MARGIN_MS
    echo_ms = min(say.most_ms, say.share * (whole_ms - say.early_ms))
    found = ends_in_a_room(ms_a_db, Outline())
    assert found == [pytest.approx(whole_ms - echo_ms + margin_ms, abs=2 * SMEAR_MS)] * len(found)


@pytest.mark.parametrize(("ms_a_db", "more_ms"), [(5.0, 0), (7.0, LIVE_STOP_MARGIN_MS - LIVE_MARGIN_MS), (13.0, 0)])
def test_in_a_live_room_a_last_p_t_or_k_has_more_room(ms_a_db: float, more_ms: int) -> None:
    plain = ends_in_a_room(ms_a_db, Outline(hissing=True))
    stopped = ends_in_a_room(ms_a_db, Outline(hissing=True, stopping=True))
    assert [b - a for a, b in zip(plain, stopped, strict=True)] == [more_ms] * len(plain)


def test_under_a_loud_room_the_voice_is_taken_to_go_on_a_little() -> None:
    quiet, loud = levels((1000, 2000, -20.0)), levels((1000, 2000, -20.0), floor_db=-40.0)
    hidden_ms = FALLING_MS_A_DB * (-40.0 + VOICE_OVER_DB - (-20.0 - DEPTH_DB)) + COVERED_MARGIN_MS
    # How the room falls is hidden, too: a part of it may be echo.
    echo_ms = min(SAY_IN_NOISE.most_ms, SAY_IN_NOISE.share * (hidden_ms - SAY_IN_NOISE.early_ms))
    assert edges_of(loud, Span(1000, 2000)).end_ms - edges_of(quiet, Span(1000, 2000)).end_ms == pytest.approx(
        hidden_ms - echo_ms - MARGIN_MS, abs=SMEAR_MS
    )


def test_under_a_loud_room_the_voice_is_taken_to_begin_a_little_earlier() -> None:
    quiet, loud = levels((1000, 2000, -20.0)), levels((1000, 2000, -20.0), floor_db=-40.0)
    hidden_db = -40.0 + VOICE_OVER_DB - (-20.0 - DEPTH_DB)
    earlier_ms = edges_of(quiet, Span(1000, 2000)).start_ms - edges_of(loud, Span(1000, 2000)).start_ms
    assert earlier_ms == pytest.approx(RISING_MS_A_DB * hidden_db + FAINT_MARGIN_MS, abs=SMEAR_MS)
    limits = Span(995, 5000)
    assert edges_of(loud, Span(1000, 2000), limits).start_ms == 995


def test_what_sets_in_at_once_is_not_taken_to_begin_much_earlier() -> None:
    loud, laid = levels((1000, 2000, -20.0), floor_db=-40.0), [Span(1000, 2000)]
    hidden_db = -40.0 + VOICE_OVER_DB - (-20.0 - DEPTH_DB)
    [faint], [sudden] = (true_edges(loud, laid, [WHOLE], [Outline(faint=faint)]) for faint in (True, False))
    later_ms = (RISING_MS_A_DB - SUDDEN_MS_A_DB) * hidden_db + FAINT_MARGIN_MS - SUDDEN_MARGIN_MS
    assert sudden.start_ms - faint.start_ms == pytest.approx(later_ms, abs=1)
    assert sudden.end_ms == faint.end_ms


def test_a_soft_first_sound_is_found_where_it_falls_quiet_before_it() -> None:
    # A weak first consonant of 160 ms, apart from the rest by a closure, which the aligner left out.
    drawn = levels((1000, 1160, -45.0), (1220, 2000, -20.0))
    assert edges_of(drawn, Span(1210, 2000)).start_ms == pytest.approx(1000 - START_MARGIN_MS, abs=SMEAR_MS)


def test_where_it_is_never_quiet_a_start_moves_no_further_than_usual() -> None:
    drawn = levels((0, 1000, -45.0), (1000, 2000, -20.0))
    assert 1000 - EARLIER_MS - START_MARGIN_MS <= edges_of(drawn, Span(1000, 2000)).start_ms <= 1000


def test_hum_that_goes_up_and_down_with_every_frame_is_no_speech() -> None:
    """As 50 Hz with its overtones does at 10 ms a frame; now and then two loud frames meet."""
    drawn = levels((1000, 2000, -20.0))
    band = drawn.voice_db.copy()
    quiet = band < -60
    band[quiet] = np.where(np.arange(quiet.sum()) % 2, -54.0, -58.5)
    band[2060 // HOP_MS :: 12] = -53.0
    edges = edges_of(Levels(band, drawn.hiss_db), Span(1000, 2000))
    assert edges.end_ms <= 2000 + 60


@pytest.mark.parametrize("single", [True, False])
def test_a_single_word_may_begin_further_before_the_place_where_it_was_laid(single: bool) -> None:
    """A drawn-out "run"; before more words what stands there may be an "um"."""
    drawn = levels((1000, 1350, -35.0), (1350, 2000, -20.0))
    (found,) = true_edges(drawn, [Span(1350, 2000)], [WHOLE], [Outline(single=single)])
    assert (found.start_ms <= 1000) == single


def test_in_a_room_that_drowns_the_release_the_aligner_is_believed() -> None:
    drowned, heard = levels((1000, 1900, -20.0), floor_db=-42.0), levels((1000, 1900, -20.0))
    assert edges_of(drowned, Span(1000, 2000)).end_ms >= 2000
    assert edges_of(heard, Span(1000, 2000)).end_ms == pytest.approx(1900 + MARGIN_MS, abs=SMEAR_MS)


def test_edges_stay_within_their_limits() -> None:
    drawn = levels((850, 2230, -20.0))
    assert edges_of(drawn, Span(1000, 2000), Span(950, 2040)) == Span(950, 2040)
    free = edges_of(drawn, Span(1000, 2000))
    assert free.start_ms == pytest.approx(850 - START_MARGIN_MS, abs=SMEAR_MS)
    assert free.end_ms == pytest.approx(2230 + MARGIN_MS, abs=SMEAR_MS)
    assert free.end_ms <= 2000 + LATER_MS


def test_two_lines_without_a_pause_are_parted_where_it_is_quietest() -> None:
    drawn = levels((1000, 2000, -20.0), (2000, 2060, -35.0), (2060, 3000, -20.0))
    first, second = true_edges(drawn, [Span(1000, 1990), Span(2080, 3000)], [Span(0, 2080), Span(1990, 5000)])
    assert 2000 <= first.end_ms <= second.start_ms <= 2060


def test_a_last_s_that_comes_up_behind_its_vowel_belongs_to_the_line() -> None:
    """It lies deeper under the vowel than the level looks, and the vowel's fall covers its beginning."""
    drawn = levels((1000, 1900, -20.0), (1900, 2020, -62.0))
    hiss = np.full_like(drawn.voice_db, -80.0)
    hiss[1900 // HOP_MS : 2020 // HOP_MS] = -64.0
    drawn = Levels(drawn.voice_db, hiss)
    laid = [Span(1000, 1950)]
    [without], [with_s] = true_edges(drawn, laid, [WHOLE]), true_edges(drawn, laid, [WHOLE], [Outline(hissing=True)])
    assert without.end_ms == pytest.approx(1900 + MARGIN_MS, abs=SMEAR_MS)
    assert with_s.end_ms == pytest.approx(2020 + MARGIN_MS, abs=2 * SMEAR_MS)


def test_a_last_th_that_keeps_its_level_behind_its_vowel_belongs_to_the_line() -> None:
    drawn = levels((1000, 1900, -20.0), (1900, 2000, -62.0))
    hiss = np.full_like(drawn.voice_db, -80.0)
    hiss[1000 // HOP_MS : 2000 // HOP_MS] = -62.0
    laid = [Span(1000, 1950)]
    [found] = true_edges(Levels(drawn.voice_db, hiss), laid, [WHOLE], [Outline(hissing=True)])
    assert found.end_ms == pytest.approx(2000 + MARGIN_MS, abs=2 * SMEAR_MS)
    hiss[1900 // HOP_MS : 2000 // HOP_MS] = np.linspace(-62, -80, 100 // HOP_MS)  # an echo falls
    [found] = true_edges(Levels(drawn.voice_db, hiss), laid, [WHOLE], [Outline(hissing=True)])
    assert found.end_ms == pytest.approx(1900 + MARGIN_MS, abs=2 * SMEAR_MS)


@pytest.mark.parametrize(("closure_ms", "released"), [(70, True), (CLOSURE_MS + 30, False)])
def test_the_release_of_a_last_stop_belongs_to_the_line_though_it_is_faint(closure_ms: int, released: bool) -> None:
    at_ms = 1900 + closure_ms
    drawn, laid = levels((1000, 1900, -15.0), (at_ms, at_ms + 40, -57.0)), [Span(1000, 1930)]
    [found] = true_edges(drawn, laid, [WHOLE], [Outline(hissing=True)])
    assert found.end_ms == pytest.approx((at_ms + 40 if released else 1900) + MARGIN_MS, abs=2 * SMEAR_MS)
    [found] = true_edges(drawn, laid, [WHOLE])
    assert found.end_ms == pytest.approx(1900 + MARGIN_MS, abs=SMEAR_MS)


@pytest.mark.parametrize(
    ("burst_db", "stopping", "is_found"), [(-65.0, True, True), (-67.0, True, False), (-65.0, False, False)]
)
def test_the_burst_of_a_last_p_t_or_k_belongs_to_the_line_though_it_lasts_a_moment(
    burst_db: float, stopping: bool, is_found: bool
) -> None:
    """Loud enough in the hiss band alone, and for no longer than one frame."""
    drawn = levels((1000, 1900, -15.0), floor_db=-55.0)
    hiss = np.full_like(drawn.voice_db, -69.0)
    hiss[2000 // HOP_MS] = burst_db
    [found] = true_edges(
        Levels(drawn.voice_db, hiss), [Span(1000, 1920)], [WHOLE], [Outline(hissing=True, stopping=stopping)]
    )
    [without] = true_edges(drawn, [Span(1000, 1920)], [WHOLE], [Outline(hissing=True)])
    end_ms = 2000 + BURST_MS + MARGIN_MS if is_found else without.end_ms
    assert found.end_ms == pytest.approx(end_ms, abs=SMEAR_MS)
    assert without.end_ms < 1960


@pytest.mark.parametrize(("floor_db", "later_ms"), [(-40.0, HIDDEN_RELEASE_MS), (-70.0, 0)])
def test_where_noise_hides_the_release_of_a_last_p_t_or_k_there_is_room_for_it(floor_db: float, later_ms: int) -> None:
    drawn, laid = levels((1000, 1900, -15.0), floor_db=floor_db), [Span(1000, 1900)]
    [plain] = true_edges(drawn, laid, [WHOLE], [Outline(hissing=True)])
    [stopped] = true_edges(drawn, laid, [WHOLE], [Outline(hissing=True, stopping=True)])
    assert stopped.end_ms - plain.end_ms == later_ms


def test_the_release_of_a_last_stop_is_fainter_than_what_is_left_of_the_vowel() -> None:
    falls = [(at, at + 10, -50.0 - (at - 1900) / 8) for at in range(1900, 1980, 10)]
    drawn, laid = levels((1000, 1900, -15.0), *falls, (1980, 2020, -54.0)), [Span(1000, 1930)]
    [found] = true_edges(drawn, laid, [WHOLE], [Outline(hissing=True)])
    assert found.end_ms == pytest.approx(2020 + MARGIN_MS, abs=2 * SMEAR_MS)


@pytest.mark.parametrize(("room_db", "found_ms"), [(-80.0, 900), (-70.0, 1000)])
def test_a_first_s_or_f_is_found_though_most_of_it_lies_higher(room_db: float, found_ms: int) -> None:
    """It stands 50 dB under the line: enough in a quiet room, nothing in a louder one. Other sounds lie less deep."""
    drawn = levels((1000, 2000, -20.0), floor_db=-80.0)
    hiss = np.full_like(drawn.voice_db, room_db)
    hiss[900 // HOP_MS : 1000 // HOP_MS] = -70.0
    heard, laid = Levels(drawn.voice_db, hiss), [Span(890, 2000)]
    [first] = true_edges(heard, laid, [WHOLE], [Outline(hiss_first=True)])
    assert first.start_ms == pytest.approx(found_ms - START_MARGIN_MS, abs=2 * SMEAR_MS)
    [other] = true_edges(heard, laid, [WHOLE])
    assert other.start_ms == pytest.approx(1000 - START_MARGIN_MS, abs=SMEAR_MS)


def test_what_is_left_of_a_vowel_is_no_last_s() -> None:
    falls = [(at, at + 10, -20.0 - (at - 1900) / 6) for at in range(1900, 2170, 10)]
    drawn = levels((1000, 1900, -20.0), *falls)
    drawn = Levels(drawn.voice_db, drawn.voice_db - 15)
    laid = [Span(1000, 1950)]
    assert true_edges(drawn, laid, [WHOLE], [Outline(hissing=True)]) == true_edges(drawn, laid, [WHOLE])


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
