"""From the readings of a slot to the items that play."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from lessoncut import wording
from lessoncut.decisions.records import Effects, Slot
from lessoncut.lesson.groups import GroupWord, parts_of
from lessoncut.lesson.pacing import Pacing
from lessoncut.lesson.records import LessonWord, LineItem
from lessoncut.lesson.shown import script_words, shown_words
from lessoncut.matching.records import Match, Reading
from lessoncut.script.records import Script
from lessoncut.times import Span, without

BEFORE_MS = 60
AFTER_MS = 90
"""Handles left around a part that is cut out of a line, where its neighbours leave room."""


@dataclass(frozen=True)
class Making:
    """All that items are made from."""

    script: Script
    match: Match
    effects: Effects
    pacing: Pacing
    language: str = "en"

    def reading(self, reading_id: str) -> Reading:
        """With the edges that the teacher has moved. Raises KeyError for an id the match does not have."""
        for reading in self.match.readings:
            if reading.id == reading_id:
                cut = next((m.cut for m in self.effects.edges if m.reading_id == reading_id), reading.cut)
                return replace(reading, cut=cut, span=reading.span.clipped(cut))
        raise KeyError(reading_id)


def items_of(slot: Slot, making: Making, *, repeat: bool) -> tuple[LineItem, ...]:
    """The slot's readings as items; in a repeat pass long lines come in parts."""
    return tuple(
        item
        for reading_id in slot.reading_ids
        for item in _items(slot, making.reading(reading_id), making, split=repeat and making.pacing.split)
    )


def _items(slot: Slot, reading: Reading, making: Making, *, split: bool) -> list[LineItem]:
    line = making.script.line(reading.line_id)
    worded = next((w for w in making.effects.wordings if w.reading_id == reading.id), None)
    by_script = [
        GroupWord(word.text, word.span, sum(wording.syllables(said) for said in wording.spoken(word.text)))
        for word in script_words(line, reading)
    ]
    whole = LineItem(
        line_id=slot.line_id,
        pass_id=slot.pass_id,
        reading_id=reading.id,
        source=slot.source,
        span=reading.span,
        cut=reading.cut,
        words=shown_words(line, reading, worded),
        syllables=sum(word.syllables for word in by_script),
        partial=reading.kind == "partial",
        cut_outs=_holes(reading, making.effects.cut_outs),
    )
    may_split = split and reading.kind == "full"
    parts = parts_of(by_script, making.pacing, making.language) if may_split else ()
    items = _split(whole, by_script, parts) if len(parts) > 1 else [whole]
    if len(items) > 1 and making.pacing.build_up:
        items.append(replace(whole, part=0, parts=len(items)))
    gap_ms = next((gap.gap_ms for gap in making.effects.gaps if gap.line_id == slot.line_id), None)
    return [*items[:-1], replace(items[-1], gap_ms=gap_ms)]


def _holes(reading: Reading, cut_outs: Sequence[Span]) -> tuple[Span, ...]:
    """What is cut out between the reading's words; a word is never touched."""
    words = [word.span for word in reading.words]
    inside = (hole.clipped(reading.span) for hole in cut_outs if hole.overlap_ms(reading.span))
    return tuple(piece for hole in inside for piece in without(hole, words))


def _split(whole: LineItem, words: Sequence[GroupWord], parts: Sequence[tuple[int, int]]) -> list[LineItem]:
    """The whole in parts; between two parts the cut lies in the middle of their pause, or at its handles."""
    items = []
    for number, (first, last) in enumerate(parts, start=1):
        span = Span(words[first].span.start_ms, words[last - 1].span.end_ms).clipped(whole.cut)
        start_ms, end_ms = whole.cut.start_ms, whole.cut.end_ms
        if first > 0:
            start_ms = max(span.start_ms - BEFORE_MS, _between_ms(words, first))
        if last < len(words):
            end_ms = min(span.end_ms + AFTER_MS, _between_ms(words, last))
        cut = Span(start_ms, end_ms).hull(span)
        items.append(
            replace(
                whole,
                span=span,
                cut=cut,
                words=_words_in(whole.words, words, first, last),
                syllables=sum(word.syllables for word in words[first:last]),
                part=number,
                parts=len(parts),
                cut_outs=tuple(hole for hole in whole.cut_outs if hole.overlap_ms(span)),
            )
        )
    return items


def _between_ms(words: Sequence[GroupWord], at: int) -> int:
    """The middle of the pause before word ``at``."""
    return (words[at - 1].span.end_ms + words[at].span.start_ms) // 2


def _words_in(shown: Sequence[LessonWord], words: Sequence[GroupWord], first: int, last: int) -> tuple[LessonWord, ...]:
    """The shown words of a part: they may be others than the script's, so the time decides."""
    start_ms = _between_ms(words, first) if first > 0 else None
    end_ms = _between_ms(words, last) if last < len(words) else None
    return tuple(
        word
        for word in shown
        if (start_ms is None or word.span.middle_ms >= start_ms) and (end_ms is None or word.span.middle_ms < end_ms)
    )
