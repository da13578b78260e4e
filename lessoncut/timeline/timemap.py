"""The exact map between take time and lesson time, both ways.

Every take edit maps its frames one to one. Take time that the lesson does not play has no lesson time, and lesson
time inside a gap has no take time. A stretch that plays twice (a built repeat pass, a borrowed line) has as many lesson
times. Times are milliseconds; fractions go through exactly.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate

from lessoncut.timeline.records import TakeEdit, Timeline

Milliseconds = int | Fraction


@dataclass(frozen=True)
class Stretch:
    """Take time ``[take_start_ms, take_end_ms)`` plays at lesson time from ``lesson_start_ms``."""

    take_start_ms: Fraction
    take_end_ms: Fraction
    lesson_start_ms: Fraction

    @property
    def lesson_end_ms(self) -> Fraction:
        return self.lesson_start_ms + self.take_end_ms - self.take_start_ms


@dataclass(frozen=True)
class TimeMap:
    """``by_lesson`` and ``by_take`` hold the same stretches in the order of each clock; see ``time_map``."""

    by_lesson: tuple[Stretch, ...]
    by_take: tuple[Stretch, ...]
    reach_ms: tuple[Fraction, ...]
    """How far in take time the stretches up to this one of ``by_take`` reach."""

    def take_ms(self, lesson_ms: Milliseconds) -> Fraction | None:
        """The take time that plays then; None inside a gap and outside the lesson."""
        at = bisect_right(self.by_lesson, lesson_ms, key=lambda stretch: stretch.lesson_start_ms) - 1
        if at < 0 or lesson_ms >= self.by_lesson[at].lesson_end_ms:
            return None
        return self.by_lesson[at].take_start_ms + lesson_ms - self.by_lesson[at].lesson_start_ms

    def lesson_ms(self, take_ms: Milliseconds) -> tuple[Fraction, ...]:
        """Every lesson time at which that moment of the take plays, in order."""
        found = []
        at = bisect_right(self.by_take, take_ms, key=lambda stretch: stretch.take_start_ms) - 1
        while at >= 0 and self.reach_ms[at] > take_ms:
            stretch = self.by_take[at]
            if take_ms < stretch.take_end_ms:
                found.append(stretch.lesson_start_ms + take_ms - stretch.take_start_ms)
            at -= 1
        return tuple(sorted(found))

    def first_lesson_ms(self, take_ms: Milliseconds) -> Fraction | None:
        return next(iter(self.lesson_ms(take_ms)), None)


def source_ms(timeline: Timeline, file: int, frame: int) -> Fraction:
    """The take time at which a source frame starts."""
    return timeline.file_starts_ms[file] + frame * 1000 / timeline.rate.per_second


def stretch_of(timeline: Timeline, edit: TakeEdit) -> Stretch:
    return Stretch(
        source_ms(timeline, edit.file, edit.source_in),
        source_ms(timeline, edit.file, edit.source_out),
        edit.lesson_in * 1000 / timeline.rate.per_second,
    )


def time_map(timeline: Timeline) -> TimeMap:
    """The map of a whole timeline."""
    by_lesson = tuple(stretch_of(timeline, edit) for edit in timeline.edits if isinstance(edit, TakeEdit))
    by_take = tuple(sorted(by_lesson, key=lambda stretch: (stretch.take_start_ms, stretch.lesson_start_ms)))
    return TimeMap(by_lesson, by_take, tuple(accumulate((stretch.take_end_ms for stretch in by_take), max)))
