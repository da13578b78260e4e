"""Where every chapter, line and word of the lesson stands in lesson time: derived once, for all outputs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction

from lessoncut.lesson.records import Lesson, LessonWord, LineItem
from lessoncut.timeline.gaps import Pause
from lessoncut.timeline.records import ChapterMark, Cover, GapMark, ItemMark, Marks, TakeEdit, Timeline
from lessoncut.timeline.timemap import Stretch, stretch_of
from lessoncut.times import Span, merged


def marks_of(lesson: Lesson, timeline: Timeline, between: Sequence[Pause]) -> Marks:
    """``between`` is the pause wanted after every item."""
    edits = _edits_of_items(timeline, len(lesson.items))
    stretches = [[stretch_of(timeline, edit) for edit in mine] for mine in edits]
    starts: list[Fraction] = []
    ends: list[Fraction] = []
    for mine, item in zip(stretches, lesson.items, strict=True):
        # At the border of two files the frames fit the clock to half a frame only; speech stays in order all the same.
        starts.append(max([_at(mine, item.span.start_ms), *ends[-1:]]))
        ends.append(max(starts[-1], _until(mine, item.span.end_ms)))
    lesson_end_ms = timeline.frames * 1000 / timeline.rate.per_second
    items = []
    for at, item in enumerate(lesson.items):
        line = item if isinstance(item, LineItem) else None
        next_ms = starts[at + 1] if at + 1 < len(starts) else lesson_end_ms
        items.append(
            ItemMark(
                item=at,
                line_id=line.line_id if line else None,
                pass_id=item.pass_id,
                pass_kind=lesson.kind_of(item),
                reading_id=line.reading_id if line else None,
                part=line.part if line else 1,
                parts=line.parts if line else 1,
                partial=bool(line and line.partial),
                lesson_span=_span(starts[at], ends[at]),
                lesson_in=edits[at][0].lesson_in,
                lesson_out=edits[at][-1].lesson_out,
                words=tuple(
                    LessonWord(w.text, _span(_at(stretches[at], w.span.start_ms), _until(stretches[at], w.span.end_ms)))
                    for w in item.words
                ),
                gap=_gap(timeline, between[at], ends[at], next_ms),
                syllables=line.syllables if line else 0,
            )
        )
    return Marks(_chapters(lesson, timeline, edits), tuple(items))


def _edits_of_items(timeline: Timeline, items: int) -> list[list[TakeEdit]]:
    out: list[list[TakeEdit]] = [[] for _ in range(items)]
    for edit in timeline.edits:
        if isinstance(edit, TakeEdit) and edit.role != "pause":
            out[edit.item].append(edit)
    return out


def _at(stretches: Sequence[Stretch], take_ms: int) -> Fraction:
    """Lesson time of something that begins: in the last stretch that has begun by then."""
    mine = [stretch for stretch in stretches if stretch.take_start_ms <= take_ms] or stretches[:1]
    return mine[-1].lesson_start_ms + take_ms - mine[-1].take_start_ms


def _until(stretches: Sequence[Stretch], take_ms: int) -> Fraction:
    """Lesson time of something that ends: in the last stretch that has begun before then."""
    mine = [stretch for stretch in stretches if stretch.take_start_ms < take_ms] or stretches[:1]
    return mine[-1].lesson_start_ms + take_ms - mine[-1].take_start_ms


def _rounded(at_ms: Fraction) -> int:
    """Half up, like ``FrameRate.start_ms``."""
    return math.floor(at_ms + Fraction(1, 2))


def _span(start_ms: Fraction, end_ms: Fraction) -> Span:
    return Span(_rounded(start_ms), max(_rounded(start_ms), _rounded(end_ms)))


def _gap(timeline: Timeline, pause: Pause, end_ms: Fraction, next_ms: Fraction) -> GapMark:
    per_ms = timeline.rate.per_second / 1000
    lesson_in = math.ceil(end_ms * per_ms)
    span = _span(end_ms, next_ms)
    return GapMark(
        kind=pause.kind,
        wanted_ms=span.length_ms if pause.wanted_ms is None else pause.wanted_ms,
        recorded_ms=pause.recorded_ms,
        lesson_span=span,
        lesson_in=lesson_in,
        lesson_out=max(lesson_in, math.floor(next_ms * per_ms)),
        clamped=pause.clamped,
    )


def _chapters(lesson: Lesson, timeline: Timeline, edits: Sequence[Sequence[TakeEdit]]) -> tuple[ChapterMark, ...]:
    starts: list[int] = []
    item = 0
    for chapter in lesson.chapters:
        starts.append(edits[item][0].lesson_in if starts else 0)
        item += len(chapter.items)
    ends = [*starts[1:], timeline.frames]
    kinds = {item.id: item.kind for item in lesson.passes}
    return tuple(
        ChapterMark(
            title=chapter.title,
            pass_kind=kinds.get(chapter.pass_id) if chapter.pass_id else None,
            lesson_in=start,
            lesson_out=end,
            lesson_span=Span(timeline.rate.start_ms(start), timeline.rate.start_ms(end)),
        )
        for chapter, start, end in zip(lesson.chapters, starts, ends, strict=True)
    )


def covers_of(covers: Sequence[Span], timeline: Timeline) -> tuple[Cover, ...]:
    """Wherever the lesson plays a part of a sound that is to be covered."""
    found = []
    for edit in timeline.edits:
        if not isinstance(edit, TakeEdit):
            continue
        stretch = stretch_of(timeline, edit)
        for cover in covers:
            start = max(Fraction(cover.start_ms), stretch.take_start_ms)
            end = min(Fraction(cover.end_ms), stretch.take_end_ms)
            if start < end:
                shift = stretch.lesson_start_ms - stretch.take_start_ms
                found.append(_span(start + shift, end + shift))
    return tuple(Cover(span) for span in merged(found))
