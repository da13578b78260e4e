"""How long the pause after every item is to be, and which quiet the take has for it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lessoncut.lesson.pacing import Pacing, gap_size
from lessoncut.lesson.records import Item, Lesson, LineItem
from lessoncut.matching.records import Match, PassKind
from lessoncut.take.records import Take
from lessoncut.timeline.records import GapKind
from lessoncut.times import Span

ASIDE_HANDLE_MS = 80
"""Kept off talk that does not play; a reading brings its own handles."""


@dataclass(frozen=True)
class Pause:
    """The pause after an item, from its last word to the next item's first.

    ``after`` is the quiet of the take right after the item, ``before`` the quiet right before the next one; where the
    take has the two items one after the other, both are the whole quiet between, and ``recorded_ms`` says how long the
    pause was. After the last item ``before`` is empty; ``wanted_ms`` is None there unless the learner gets a gap.
    """

    kind: GapKind
    wanted_ms: int | None
    recorded_ms: int | None
    clamped: bool
    after: Span
    before: Span


@dataclass(frozen=True)
class _Talk:
    """Speech in the take. ``reach`` contains it, and is kept away from when quiet is looked for."""

    reading_id: str | None
    span: Span
    reach: Span


def pauses(lesson: Lesson, take: Take, match: Match, pacing: Pacing) -> tuple[Pause, ...]:
    """One for every item of the lesson."""
    talk = _talk(match)
    items = lesson.items
    chapter_ends = {len(items) - 1}
    count = 0
    for chapter in lesson.chapters:
        count += len(chapter.items)
        chapter_ends.add(count - 1)
    out = []
    for at, item in enumerate(items):
        following = items[at + 1] if at + 1 < len(items) else None
        recorded_ms = _recorded_ms(item, following, take, talk) if following else None
        kind, wanted_ms, clamped = _wanted(item, lesson.kind_of(item), recorded_ms, at in chapter_ends, pacing)
        if recorded_ms is not None and following:
            after = before = Span(item.span.end_ms, following.span.start_ms)
        else:
            after = quiet_after(item, take, talk)
            end_ms = item.span.end_ms
            before = quiet_before(following, take, talk) if following else Span(end_ms, end_ms)
        last_pause = following is None and kind == "pause"
        out.append(Pause(kind, None if last_pause else wanted_ms, recorded_ms, clamped, after, before))
    return tuple(out)


def opening(lesson: Lesson, take: Take, match: Match) -> Span:
    """The quiet of the take right before the lesson's first word."""
    return quiet_before(lesson.items[0], take, _talk(match))


def _wanted(
    item: Item, kind: PassKind | None, recorded_ms: int | None, chapter_ends: bool, pacing: Pacing
) -> tuple[GapKind, int, bool]:
    if kind == "repeat" and isinstance(item, LineItem) and not item.partial:
        if item.gap_ms is not None:
            return "repeat", item.gap_ms, False
        size = gap_size(item.spoken_ms, item.syllables, pacing)
        return "repeat", size.gap_ms, size.clamped
    if recorded_ms is None:
        return "pause", pacing.chapter_pause_joined_ms if chapter_ends else pacing.pause_joined_ms, False
    most_ms = pacing.chapter_pause_most_ms if chapter_ends else pacing.pause_most_ms
    return "pause", min(recorded_ms, most_ms), False


# -- what the take has between -----------------------------------------------------------------------


def _talk(match: Match) -> tuple[_Talk, ...]:
    readings = [_Talk(reading.id, reading.span, reading.cut) for reading in match.readings]
    asides = [_Talk(None, aside.span, aside.span.padded(ASIDE_HANDLE_MS, ASIDE_HANDLE_MS)) for aside in match.asides]
    return (*readings, *asides)


def _recorded_ms(item: Item, following: Item, take: Take, talk: Sequence[_Talk]) -> int | None:
    """The pause between two items that the take has one after the other; None where anything lies between."""
    end_ms, start_ms = item.span.end_ms, following.span.start_ms
    if start_ms < end_ms or _file_span(take, end_ms - 1) != _file_span(take, start_ms):
        return None
    between = Span(end_ms, start_ms)
    own = _shared_reading(item, following)
    if any(other.span.overlap_ms(between) for other in talk if own is None or other.reading_id != own):
        return None
    return between.length_ms


def _shared_reading(item: Item, following: Item) -> str | None:
    """The reading of which the two are neighbouring parts."""
    if not isinstance(item, LineItem) or not isinstance(following, LineItem):
        return None
    follows = item.reading_id == following.reading_id and item.part >= 1 and following.part == item.part + 1
    return item.reading_id if follows else None


def _file_span(take: Take, at_ms: int) -> Span:
    return next((file for file in take.spans if file.contains(at_ms)), take.spans[-1])


def quiet_after(item: Item, take: Take, talk: Sequence[_Talk]) -> Span:
    """From the item's last word to whatever is said next in the same file."""
    end_ms = item.span.end_ms
    limits = [max(other.reach.start_ms, end_ms) for other in talk if other.span.end_ms > end_ms]
    return Span(end_ms, max(end_ms, min([_file_span(take, end_ms - 1).end_ms, *limits])))


def quiet_before(item: Item, take: Take, talk: Sequence[_Talk]) -> Span:
    """From whatever was said before in the same file to the item's first word."""
    start_ms = item.span.start_ms
    limits = [min(other.reach.end_ms, start_ms) for other in talk if other.span.start_ms < start_ms]
    return Span(min(start_ms, max([_file_span(take, start_ms).start_ms, *limits])), start_ms)
