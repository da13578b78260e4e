"""What every output is made from: chapters and lines with times on one clock.

The clock is the lesson's, or the raw take's for those who publish the take as it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from lessoncut.lesson.records import Chapter, Item, Lesson, LessonWord, LineItem
from lessoncut.matching.findings.records import Finding
from lessoncut.matching.records import Match
from lessoncut.outputs.captions import Captions, Utterance, captions
from lessoncut.outputs.choices import PLAIN, Choices
from lessoncut.render.records import Footage
from lessoncut.teaching.records import Study
from lessoncut.timeline.records import ItemMark, Marks, Timeline
from lessoncut.times import FrameRate, Span

Clock = Literal["lesson", "take"]

_OLD_TAGS = {"jw": "jv", "iw": "he", "in": "id", "ji": "yi"}
"""Codes that a recogniser may still use, and what BCP 47 has instead (IANA language subtag registry)."""


@dataclass(frozen=True)
class Part:
    """A chapter on this clock. Parts are contiguous: the first starts at 0, the last ends with the programme."""

    title: str
    span: Span


@dataclass(frozen=True)
class Said:
    """An item of the lesson as it is heard on this clock. ``mark`` is what the lesson says of it, in lesson time."""

    mark: ItemMark
    span: Span
    words: tuple[LessonWord, ...]

    @property
    def text(self) -> str:
        return " ".join(word.text for word in self.words)


@dataclass(frozen=True)
class Programme:
    """``language`` is a BCP 47 tag; ``said`` and ``other_speech`` are in time order and do not overlap."""

    title: str
    language: str
    clock: Clock
    rate: FrameRate
    duration_ms: int
    parts: tuple[Part, ...]
    said: tuple[Said, ...]
    other_speech: tuple[Span, ...] = ()
    """Speech that the lesson does not use: nothing is captioned there."""
    study: Study | None = None
    """What a teacher of pronunciation measures, for the outputs that teach."""
    choices: Choices = PLAIN
    """What the teacher wants of those."""
    footage: Footage | None = None
    """What the lesson is cut from; None on the take's own clock."""
    findings: tuple[Finding, ...] = ()

    @cached_property
    def captions(self) -> Captions:
        used = [Utterance(said.mark.line_id, said.span, said.words) for said in self.said]
        unused = [Utterance(None, span, ()) for span in self.other_speech]
        utterances = sorted([*used, *unused], key=lambda utterance: utterance.span)
        return captions(utterances, self.duration_ms, self.rate, self.language)


def on_lesson(lesson: Lesson, timeline: Timeline, marks: Marks, language: str) -> Programme:
    """The finished lesson, on its own clock."""
    return Programme(
        title=lesson.title,
        language=language_tag(language),
        clock="lesson",
        rate=timeline.rate,
        duration_ms=timeline.duration_ms,
        parts=tuple(Part(chapter.title, chapter.lesson_span) for chapter in marks.chapters),
        said=tuple(Said(mark, mark.lesson_span, mark.words) for mark in marks.items),
    )


def on_take(
    lesson: Lesson, timeline: Timeline, marks: Marks, match: Match, take_duration_ms: int, language: str
) -> Programme:
    """The raw take, with the chapters and the kept readings where they stand in it.

    A reading that the lesson plays twice (a built repeat pass, a borrowed line) is there once. A chapter with no
    reading of its own in the take is not there.
    """
    said = _once(lesson.items, marks)
    spans = [one.span for one in said]
    speech = sorted([*(reading.span for reading in match.readings), *(aside.span for aside in match.asides)])
    return Programme(
        title=lesson.title,
        language=language_tag(language),
        clock="take",
        rate=timeline.rate,
        duration_ms=take_duration_ms,
        parts=_take_parts(lesson.chapters, said, take_duration_ms, timeline.rate),
        said=said,
        other_speech=tuple(span for span in speech if not any(span.overlap_ms(used) for used in spans)),
    )


def language_tag(code: str) -> str:
    """The BCP 47 tag for a recogniser's language code; a tag comes back as it is."""
    return _OLD_TAGS.get(code.lower(), code)


def _once(items: Sequence[Item], marks: Marks) -> tuple[Said, ...]:
    """Every stretch of the take once, its own item before borrowed ones and parts before the whole."""
    said: list[Said] = []
    for mark in sorted(marks.items, key=lambda mark: (items[mark.item].span, _borrowed(items[mark.item]))):
        item = items[mark.item]
        if not said or not item.span.overlap_ms(said[-1].span):
            said.append(Said(mark, item.span, item.words))
    return tuple(said)


def _borrowed(item: Item) -> bool:
    return isinstance(item, LineItem) and item.source in ("borrowed", "built")


def _take_parts(
    chapters: Sequence[Chapter], said: Sequence[Said], duration_ms: int, rate: FrameRate
) -> tuple[Part, ...]:
    """Each chapter from its first item in the take, whatever order the lesson has them in."""
    own = {one.mark.item: one for one in said}
    starts: list[tuple[int, str]] = []
    at = 0
    for chapter in chapters:
        heard = [
            item.cut.start_ms
            for index, item in enumerate(chapter.items, start=at)
            if index in own and not (isinstance(item, LineItem) and item.source != "take")
        ]
        at += len(chapter.items)
        if heard:
            starts.append((rate.start_ms(rate.nearest_frame(min(heard))), chapter.title))
    starts.sort()
    edges = [0, *(start_ms for start_ms, _ in starts[1:]), duration_ms]
    return tuple(
        Part(title, Span(start_ms, end_ms))
        for (_, title), start_ms, end_ms in zip(starts, edges, edges[1:], strict=False)
    )
