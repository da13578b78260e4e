"""How long the pause after every item is to be, and which quiet the take has for it."""

from __future__ import annotations

from dataclasses import dataclass

from lessoncut.lesson.pacing import Pacing, gap_size
from lessoncut.lesson.records import Item, Lesson, LineItem
from lessoncut.matching.records import PassKind
from lessoncut.timeline.quiet import Quiet
from lessoncut.timeline.records import GapKind
from lessoncut.times import Span


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


def pauses(lesson: Lesson, quiet: Quiet, pacing: Pacing) -> tuple[Pause, ...]:
    """One for every item of the lesson."""
    items = lesson.items
    chapter_ends = {len(items) - 1}
    count = 0
    for chapter in lesson.chapters:
        count += len(chapter.items)
        chapter_ends.add(count - 1)
    out = []
    for at, item in enumerate(items):
        following = items[at + 1] if at + 1 < len(items) else None
        recorded_ms = quiet.recorded_ms(item, following) if following else None
        kind, wanted_ms, clamped = _wanted(item, lesson.kind_of(item), recorded_ms, at in chapter_ends, pacing)
        if recorded_ms is not None and following:
            after = before = Span(item.span.end_ms, following.span.start_ms)
        else:
            after = quiet.after(item)
            end_ms = item.span.end_ms
            before = quiet.before(following) if following else Span(end_ms, end_ms)
        last_pause = following is None and kind == "pause"
        out.append(Pause(kind, None if last_pause else wanted_ms, recorded_ms, clamped, after, before))
    return tuple(out)


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
