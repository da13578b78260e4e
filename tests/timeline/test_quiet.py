"""Quiet in the take, looked up fast and by walking through everything that is said."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from lessoncut.lesson.pacing import Pacing
from lessoncut.lesson.records import AsideItem
from lessoncut.matching.records import Aside, Match, Reading
from lessoncut.timeline.quiet import ASIDE_HANDLE_MS, Quiet
from lessoncut.times import Span
from tests.decisions.scene import Scene
from tests.lesson.telling import CLEAN, MARKET, take_of, told, with_words
from tests.lesson.test_build import PAUSED
from tests.timeline.test_layout import laid

LENGTH_MS = 2000
spans = st.builds(
    lambda start, length: Span(start, start + length), st.integers(0, LENGTH_MS - 300), st.integers(1, 300)
)


@st.composite
def matches(draw: st.DrawFn) -> Match:
    """Speech anywhere, overlapping or not: more than a real match ever holds."""
    readings = [
        Reading(f"R{at}", "L001", None, "full", True, span, span.padded(*draw(handles)), (), (), 1.0)
        for at, span in enumerate(draw(st.lists(spans, max_size=6)))
    ]
    asides = [Aside(span, ()) for span in draw(st.lists(spans, max_size=4))]
    return Match((), tuple(readings), tuple(asides), 1.0)


handles = st.tuples(st.integers(0, 90), st.integers(0, 90))


def item_at(span: Span) -> AsideItem:
    return AsideItem(None, span, span, ())


def talk_in(match: Match) -> list[tuple[Span, Span]]:
    own = [(reading.span, reading.cut) for reading in match.readings]
    return own + [(aside.span, aside.span.padded(ASIDE_HANDLE_MS, ASIDE_HANDLE_MS)) for aside in match.asides]


@given(matches(), spans, spans, st.integers(1, LENGTH_MS - 1))
def test_against_walking_through_all_of_it(match: Match, one: Span, other: Span, border: int) -> None:
    take = take_of(border, LENGTH_MS - border)
    quiet = Quiet(take, match)
    talk = talk_in(match)

    def file_at(at_ms: int) -> Span:
        return next(file for file in take.spans if file.contains(at_ms))

    end_ms = one.end_ms
    limits = [max(reach.start_ms, end_ms) for span, reach in talk if span.end_ms > end_ms]
    assert quiet.after(item_at(one)) == Span(end_ms, min([file_at(end_ms - 1).end_ms, *limits]))

    start_ms = one.start_ms
    limits = [min(reach.end_ms, start_ms) for span, reach in talk if span.start_ms < start_ms]
    assert quiet.before(item_at(one)) == Span(max([file_at(start_ms).start_ms, *limits]), start_ms)

    expected = None
    if other.start_ms >= end_ms and file_at(end_ms - 1) == file_at(other.start_ms):
        between = Span(end_ms, other.start_ms)
        if not any(span.overlap_ms(between) for span, _ in talk):
            expected = between.length_ms
    assert quiet.recorded_ms(item_at(one), item_at(other)) == expected


def test_neighbouring_parts_of_a_reading_have_its_own_pause_between_them() -> None:
    match = with_words(told(MARKET, CLEAN), "R08", *PAUSED)
    _, _, marks = laid(Scene(match=match), Pacing("A1", build_up=True))
    parts = [mark for mark in marks.items if mark.line_id == "L005" and mark.pass_kind == "repeat"]
    assert [mark.gap.recorded_ms for mark in parts] == [400, None, 4700]
    # A sound that was missed inside the reading: talk between the two parts.
    with_talk = replace(match, asides=(Aside(Span(27100, 27200), ("er",)),))
    _, _, marks = laid(Scene(match=with_talk), Pacing("A1"))
    parts = [mark for mark in marks.items if mark.line_id == "L005" and mark.pass_kind == "repeat"]
    assert [mark.gap.recorded_ms for mark in parts] == [None, 4700]
