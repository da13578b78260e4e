"""The exact map between take time and lesson time, against a slow and obvious one."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from lessoncut.timeline.records import Edit, Gap, TakeEdit, Timeline
from lessoncut.timeline.timemap import source_ms, time_map
from lessoncut.times import FrameRate

RATES = [Fraction(25), Fraction(30000, 1001), Fraction(24000, 1001), Fraction(60), Fraction(100), Fraction(7, 3)]


@st.composite
def timelines(draw: st.DrawFn) -> Timeline:
    """Any timeline: stretches of two files in any order, repeated, overlapping, with gaps of any length."""
    edits: list[Edit] = []
    frame = 0
    for _ in range(draw(st.integers(0, 6))):
        length = draw(st.integers(1, 9))
        if draw(st.booleans()):
            edits.append(Gap(frame, frame + length, "pause", 0, 0, 0))
        else:
            start = draw(st.integers(0, 20))
            edits.append(TakeEdit(draw(st.integers(0, 1)), start, start + length, frame, frame + length, "line", 0))
        frame += length
    return Timeline(FrameRate(draw(st.sampled_from(RATES))), (0, draw(st.integers(0, 5000))), tuple(edits))


def slow_lesson_ms(timeline: Timeline, take_ms: Fraction) -> list[Fraction]:
    """Frame by frame: wherever the frame that holds this moment plays."""
    frame_ms = 1000 / timeline.rate.per_second
    found = []
    for edit in timeline.edits:
        if isinstance(edit, TakeEdit):
            for at in range(edit.source_out - edit.source_in):
                start_ms = source_ms(timeline, edit.file, edit.source_in + at)
                if start_ms <= take_ms < start_ms + frame_ms:
                    found.append((edit.lesson_in + at) * frame_ms + take_ms - start_ms)
    return sorted(found)


def slow_take_ms(timeline: Timeline, lesson_ms: Fraction) -> Fraction | None:
    frame_ms = 1000 / timeline.rate.per_second
    for edit in timeline.edits:
        for at in range(edit.lesson_out - edit.lesson_in):
            start_ms = (edit.lesson_in + at) * frame_ms
            if start_ms <= lesson_ms < start_ms + frame_ms:
                if isinstance(edit, Gap):
                    return None
                return source_ms(timeline, edit.file, edit.source_in + at) + lesson_ms - start_ms
    return None


moments = st.fractions(-100, 8000, max_denominator=30) | st.integers(-100, 8000).map(Fraction)


@given(timelines(), moments)
def test_both_ways_against_the_slow_map(timeline: Timeline, moment: Fraction) -> None:
    fast = time_map(timeline)
    assert list(fast.lesson_ms(moment)) == slow_lesson_ms(timeline, moment)
    assert fast.take_ms(moment) == slow_take_ms(timeline, moment)
    assert fast.first_lesson_ms(moment) == next(iter(slow_lesson_ms(timeline, moment)), None)


@given(timelines())
def test_the_edges_of_every_stretch_are_exact(timeline: Timeline) -> None:
    fast = time_map(timeline)
    for edit in timeline.edits:
        start_ms = edit.lesson_in * 1000 / timeline.rate.per_second
        if isinstance(edit, Gap):
            assert fast.take_ms(start_ms) is None
        else:
            assert fast.take_ms(start_ms) == source_ms(timeline, edit.file, edit.source_in)


@given(timelines(), moments)
def test_there_and_back_again(timeline: Timeline, moment: Fraction) -> None:
    fast = time_map(timeline)
    for lesson_ms in fast.lesson_ms(moment):
        assert fast.take_ms(lesson_ms) == moment
    take_ms = fast.take_ms(moment)
    if take_ms is not None:
        assert moment in fast.lesson_ms(take_ms)


@given(timelines(), st.data())
def test_time_runs_forward_at_its_own_speed_inside_a_stretch(timeline: Timeline, data: st.DataObject) -> None:
    fast = time_map(timeline)
    for stretch in fast.by_lesson:
        length_ms = stretch.lesson_end_ms - stretch.lesson_start_ms
        one, other = sorted(data.draw(st.fractions(0, 1, max_denominator=50).filter(lambda f: f < 1)) for _ in range(2))
        first = fast.take_ms(stretch.lesson_start_ms + one * length_ms)
        second = fast.take_ms(stretch.lesson_start_ms + other * length_ms)
        assert first is not None and second is not None
        assert second - first == (other - one) * length_ms


def test_an_empty_timeline_has_no_times() -> None:
    empty = time_map(Timeline(FrameRate(Fraction(25)), (0,), ()))
    assert empty.take_ms(0) is None
    assert empty.lesson_ms(0) == ()
