"""Where the take is quiet: between one thing that is said and the next, kept or not."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import accumulate

from lessoncut.lesson.records import Item, LineItem
from lessoncut.matching.records import Match
from lessoncut.take.records import Take
from lessoncut.times import Span

ASIDE_HANDLE_MS = 80
"""Kept off talk outside the script; a reading brings its own handles."""


@dataclass(frozen=True)
class _Talk:
    """Speech in the take. ``reach`` contains it, and is kept away from when quiet is looked for."""

    reading_id: str | None
    span: Span
    reach: Span


class Quiet:
    """The speech of one take, ordered so that looking up what is near takes no walk through all of it."""

    def __init__(self, take: Take, match: Match) -> None:
        self.files = take.spans
        talk = [_Talk(reading.id, reading.span, reading.cut) for reading in match.readings]
        for aside in match.asides:
            talk.append(_Talk(None, aside.span, aside.span.padded(ASIDE_HANDLE_MS, ASIDE_HANDLE_MS)))
        self.by_start = sorted(talk, key=lambda item: item.span)
        self.starts_ms = [item.span.start_ms for item in self.by_start]
        self.last_end_ms = list(accumulate((item.span.end_ms for item in self.by_start), max))
        self.last_reach_ms = list(accumulate((item.reach.end_ms for item in self.by_start), max))
        by_end = sorted(talk, key=lambda item: item.span.end_ms)
        self.ends_ms = [item.span.end_ms for item in by_end]
        self.next_reach_ms = list(accumulate((item.reach.start_ms for item in reversed(by_end)), min))[::-1]

    def recorded_ms(self, item: Item, following: Item) -> int | None:
        """The pause between two items that the take has one after the other; None where anything lies between."""
        end_ms, start_ms = item.span.end_ms, following.span.start_ms
        if start_ms < end_ms or self._file(end_ms - 1) != self._file(start_ms):
            return None
        own = _shared_reading(item, following)
        between = Span(end_ms, start_ms)
        if any(talk.reading_id != own or own is None for talk in self._said_in(between)):
            return None
        return between.length_ms

    def after(self, item: Item) -> Span:
        """From the item's last word to whatever is said next in the same file."""
        end_ms = item.span.end_ms
        later = bisect_right(self.ends_ms, end_ms)
        limits = [max(reach_ms, end_ms) for reach_ms in self.next_reach_ms[later : later + 1]]
        return Span(end_ms, max(end_ms, min([self._file(end_ms - 1).end_ms, *limits])))

    def before(self, item: Item) -> Span:
        """From whatever was said before in the same file to the item's first word."""
        start_ms = item.span.start_ms
        earlier = bisect_left(self.starts_ms, start_ms)
        limits = [min(reach_ms, start_ms) for reach_ms in self.last_reach_ms[:earlier][-1:]]
        return Span(min(start_ms, max([self._file(start_ms).start_ms, *limits])), start_ms)

    def _said_in(self, span: Span) -> Iterator[_Talk]:
        at = bisect_left(self.starts_ms, span.end_ms) - 1
        while at >= 0 and self.last_end_ms[at] > span.start_ms:
            if self.by_start[at].span.overlap_ms(span):
                yield self.by_start[at]
            at -= 1

    def _file(self, at_ms: int) -> Span:
        return next((file for file in self.files if file.contains(at_ms)), self.files[-1])


def _shared_reading(item: Item, following: Item) -> str | None:
    """The reading of which the two are neighbouring parts."""
    if not isinstance(item, LineItem) or not isinstance(following, LineItem):
        return None
    follows = item.reading_id == following.reading_id and item.part >= 1 and following.part == item.part + 1
    return item.reading_id if follows else None
