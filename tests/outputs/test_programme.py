"""The same lesson on its own clock and on the take's."""

from __future__ import annotations

from lessoncut.lesson.records import AsideItem, Chapter, Item, Lesson, LessonPass, LineItem
from lessoncut.matching.records import Aside, Match, Reading
from lessoncut.outputs.programme import language_tag, on_lesson, on_take
from lessoncut.timeline.records import ChapterMark, GapMark, ItemMark, Marks, TakeEdit, Timeline
from lessoncut.times import Span
from tests.outputs.programmes import RATE_25, words

PASSES = (LessonPass("P1", "model", 1), LessonPass("P2", "repeat", 1))


def line(
    line_id: str, reading_id: str, text: str, start_ms: int, pass_id: str | None, source: str = "take"
) -> LineItem:
    spoken = words(text, start_ms)
    span = Span(start_ms, spoken[-1].span.end_ms)
    return LineItem(line_id, pass_id, reading_id, source, span, span.padded(80, 80), spoken, 4)  # type: ignore[arg-type]


def laid_out(*chapters: tuple[str, list[Item]]) -> tuple[Lesson, Timeline, Marks]:
    """The items one after the other in lesson time, a second apart, from one second on."""
    marks: list[ItemMark] = []
    chapter_marks: list[ChapterMark] = []
    at_ms = 1000
    for title, items in chapters:
        chapter_start = at_ms if chapter_marks else 0
        for item in items:
            span = Span(at_ms, at_ms + item.span.length_ms)
            at_ms = span.end_ms + 1000
            moved = tuple(words(item.text, span.start_ms)) if item.words else ()
            of_line = isinstance(item, LineItem)
            marks.append(
                ItemMark(
                    item=len(marks),
                    line_id=item.line_id if isinstance(item, LineItem) else None,
                    pass_id=item.pass_id,
                    pass_kind=next((p.kind for p in PASSES if p.id == item.pass_id), None),
                    reading_id=item.reading_id if isinstance(item, LineItem) else None,
                    part=item.part if isinstance(item, LineItem) else 1,
                    parts=item.parts if isinstance(item, LineItem) else 1,
                    partial=False,
                    lesson_span=span,
                    lesson_in=RATE_25.frame_at(span.start_ms),
                    lesson_out=RATE_25.frame_at(at_ms),
                    words=moved,
                    gap=GapMark("repeat" if of_line else "pause", 1000, None, Span(span.end_ms, at_ms), 0, 0),
                )
            )
        span = Span(chapter_start, at_ms)
        frames = RATE_25.frame_at(span.start_ms), RATE_25.frame_at(span.end_ms)
        chapter_marks.append(ChapterMark(title, None, *frames, span))
    frames_in_all = RATE_25.first_frame_from(at_ms)
    timeline = Timeline(RATE_25, (0,), (TakeEdit(0, 0, frames_in_all, 0, frames_in_all, "line", 0),))
    lesson = Lesson(
        "Ship or sheep", PASSES, tuple(Chapter(title, None, None, tuple(items)) for title, items in chapters)
    )
    return lesson, timeline, Marks(tuple(chapter_marks), tuple(marks))


def reading(identity: str, span: Span, *, kept: bool) -> Reading:
    return Reading(identity, "L001", "P1", "full", kept, span, span.padded(80, 80), (), (), 0.9)


OPENING = line("L001", "R1", "Welcome to the harbour.", 2000, None)
MODEL = line("L002", "R3", "The ship was slow.", 30_000, "P1")
REPEAT = line("L002", "R4", "The ship was slow.", 60_000, "P2")


def match(*spans: tuple[str, Span], asides: tuple[Span, ...] = ()) -> Match:
    return Match(
        (), tuple(reading(name, span, kept=True) for name, span in spans), tuple(Aside(a, ()) for a in asides), 1
    )


def test_on_the_lessons_clock_everything_is_as_the_marks_say() -> None:
    lesson, timeline, marks = laid_out(("Opening", [OPENING]), ("Model", [MODEL]))
    made = on_lesson(lesson, timeline, marks, "en")
    assert [said.span for said in made.said] == [mark.lesson_span for mark in marks.items]
    assert [(part.title, part.span) for part in made.parts] == [
        ("Opening", marks.chapters[0].lesson_span),
        ("Model", marks.chapters[1].lesson_span),
    ]
    assert made.duration_ms == timeline.duration_ms
    assert made.captions.cues[0].first_frame == 25
    assert made.clock == "lesson"


def test_on_the_takes_clock_readings_stand_where_they_were_read() -> None:
    lesson, timeline, marks = laid_out(("Opening", [OPENING]), ("Model", [MODEL]), ("Repeat", [REPEAT]))
    made = on_take(lesson, timeline, marks, match(), 90_000, "en")
    assert [said.span for said in made.said] == [OPENING.span, MODEL.span, REPEAT.span]
    assert [made.captions.span(cue).start_ms for cue in made.captions.cues] == [2000, 30_000, 60_000]
    assert [(part.title, part.span) for part in made.parts] == [
        ("Opening", Span(0, 29_920)),
        ("Model", Span(29_920, 59_920)),
        ("Repeat", Span(59_920, 90_000)),
    ]


def test_chapters_stand_in_the_order_of_the_take() -> None:
    """A repeat pass that was recorded before the model reading."""
    early = line("L002", "R2", "The ship was slow.", 10_000, "P2")
    lesson, timeline, marks = laid_out(("Opening", [OPENING]), ("Model", [MODEL]), ("Repeat", [early]))
    made = on_take(lesson, timeline, marks, match(), 90_000, "en")
    assert [part.title for part in made.parts] == ["Opening", "Repeat", "Model"]
    assert [said.mark.reading_id for said in made.said] == ["R1", "R2", "R3"]


def test_a_reading_that_plays_twice_is_there_once_and_a_built_pass_is_no_chapter() -> None:
    built = line("L002", "R3", "The ship was slow.", 30_000, "P2", source="built")
    lesson, timeline, marks = laid_out(("Opening", [OPENING]), ("Repeat", [built]), ("Model", [MODEL]))
    made = on_take(lesson, timeline, marks, match(), 90_000, "en")
    assert [said.mark.pass_kind for said in made.said] == [None, "model"]
    assert [part.title for part in made.parts] == ["Opening", "Model"]


def test_parts_are_kept_before_the_whole_line_said_again() -> None:
    whole = line("L002", "R4", "The ship was slow, and the sheep slept.", 60_000, "P2")
    halves = [
        LineItem("L002", "P2", "R4", "take", Span(60_000, 61_360), whole.cut, whole.words[:4], 4, 1, 2),
        LineItem("L002", "P2", "R4", "take", Span(61_360, 62_720), whole.cut, whole.words[4:], 4, 2, 2),
    ]
    again = LineItem("L002", "P2", "R4", "take", whole.span, whole.cut, whole.words, 8, 0, 2)
    lesson, timeline, marks = laid_out(("Repeat", [*halves, again]))
    made = on_take(lesson, timeline, marks, match(), 90_000, "en")
    assert [(said.mark.part, said.span.start_ms) for said in made.said] == [(1, 60_000), (2, 61_360)]


def test_speech_that_is_not_used_is_not_captioned_and_nothing_hangs_on_into_it() -> None:
    lesson, timeline, marks = laid_out(("Opening", [OPENING]))
    thrown_out, aside = Span(3600, 5000), Span(8000, 9000)
    found = match(("R1", OPENING.span), ("R2", thrown_out), asides=(aside,))
    made = on_take(lesson, timeline, marks, found, 90_000, "en")
    assert made.other_speech == (thrown_out, aside)
    (cue,) = made.captions.cues
    assert made.captions.span(cue).end_ms == 3600 - 80


def test_kept_talk_is_captioned_as_heard() -> None:
    spoken = words("And open your mouth.", 5000)
    talk = AsideItem(None, Span(5000, spoken[-1].span.end_ms), Span(4900, 6500), spoken)
    lesson, timeline, marks = laid_out(("Opening", [OPENING, talk]))
    for made in (on_lesson(lesson, timeline, marks, "en"), on_take(lesson, timeline, marks, match(), 90_000, "en")):
        assert made.captions.cues[-1].texts == ("And open your mouth.",)


def test_languages_are_tags_of_bcp_47() -> None:
    """IANA language subtag registry: "jw" and "iw" are deprecated for "jv" and "he"."""
    assert [language_tag(code) for code in ("en", "en-GB", "jw", "iw", "yue")] == ["en", "en-GB", "jv", "he", "yue"]
