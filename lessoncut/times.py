"""Spans of milliseconds, frame rates, and how both are written down.

Spans are half-open: ``[start_ms, end_ms)``. A frame rate is an exact fraction; frame ``n`` stands from
``n / rate`` to ``(n + 1) / rate``.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise


@dataclass(frozen=True, order=True)
class Span:
    """A half-open stretch of time in whole milliseconds; empty when start equals end."""

    start_ms: int
    end_ms: int

    def __post_init__(self) -> None:
        if self.end_ms < self.start_ms:
            raise ValueError(f"a span cannot end ({self.end_ms} ms) before it starts ({self.start_ms} ms)")

    @property
    def length_ms(self) -> int:
        return self.end_ms - self.start_ms

    @property
    def middle_ms(self) -> int:
        return (self.start_ms + self.end_ms) // 2

    def contains(self, at_ms: int) -> bool:
        return self.start_ms <= at_ms < self.end_ms

    def overlap_ms(self, other: Span) -> int:
        """Shared milliseconds; 0 when they only touch or lie apart."""
        return max(0, min(self.end_ms, other.end_ms) - max(self.start_ms, other.start_ms))

    def gap_to_ms(self, other: Span) -> int:
        """Milliseconds between the two; 0 when they touch or overlap."""
        return max(0, other.start_ms - self.end_ms, self.start_ms - other.end_ms)

    def clipped(self, within: Span) -> Span:
        """The part inside ``within``; an empty span at its nearer end when they lie apart."""
        start = min(max(self.start_ms, within.start_ms), within.end_ms)
        return Span(start, max(start, min(self.end_ms, within.end_ms)))

    def padded(self, before_ms: int, after_ms: int) -> Span:
        return Span(self.start_ms - before_ms, self.end_ms + after_ms)

    def hull(self, other: Span) -> Span:
        return Span(min(self.start_ms, other.start_ms), max(self.end_ms, other.end_ms))

    def parts(self, count: int) -> list[Span]:
        """The span in so many equal parts, to the millisecond."""
        marks = [self.start_ms + self.length_ms * at // max(1, count) for at in range(count + 1)]
        return [Span(*part) for part in pairwise(marks)]

    def intersection_over_union(self, other: Span) -> float:
        shared = self.overlap_ms(other)
        union = self.length_ms + other.length_ms - shared
        return shared / union if union else 0.0


def merged(spans: Iterable[Span], *, bridge_ms: int = 0) -> tuple[Span, ...]:
    """The union of the spans in order, with holes of up to ``bridge_ms`` filled."""
    out: list[Span] = []
    for span in sorted(spans):
        if out and span.start_ms - out[-1].end_ms <= bridge_ms:
            out[-1] = out[-1].hull(span)
        else:
            out.append(span)
    return tuple(out)


def without(span: Span, holes: Iterable[Span]) -> tuple[Span, ...]:
    """What is left of ``span`` when the holes are taken out; empty pieces are not listed."""
    pieces: list[Span] = []
    at_ms = span.start_ms
    for hole in merged(hole.clipped(span) for hole in holes):
        if hole.start_ms > at_ms:
            pieces.append(Span(at_ms, hole.start_ms))
        at_ms = max(at_ms, hole.end_ms)
    if at_ms < span.end_ms:
        pieces.append(Span(at_ms, span.end_ms))
    return tuple(pieces)


class SpanIndex:
    """Spans in order that do not overlap, to be asked which of them meet another: a binary search each time."""

    def __init__(self, spans: Sequence[Span]) -> None:
        self._spans = tuple(spans)
        self._starts = [span.start_ms for span in self._spans]
        self._ends = [span.end_ms for span in self._spans]

    def meeting(self, span: Span) -> tuple[Span, ...]:
        """The spans that share more than an edge with this one."""
        return self._spans[bisect_right(self._ends, span.start_ms) : bisect_left(self._starts, span.end_ms)]

    def overlap_ms(self, span: Span) -> int:
        """How much of the span they cover."""
        return sum(piece.overlap_ms(span) for piece in self.meeting(span))

    def last_end_ms(self, at_ms: int, default: int = 0) -> int:
        """The end of the last span that ends at or before ``at_ms``."""
        before = bisect_right(self._ends, at_ms)
        return self._ends[before - 1] if before else default

    def next_start_ms(self, at_ms: int, default: int) -> int:
        """The start of the first span that starts at or after ``at_ms``."""
        after = bisect_left(self._starts, at_ms)
        return self._starts[after] if after < len(self._starts) else default


@dataclass(frozen=True)
class FrameRate:
    """Frames per second as an exact fraction, 30000/1001 for "29.97"."""

    per_second: Fraction

    def __post_init__(self) -> None:
        if self.per_second <= 0:
            raise ValueError(f"a frame rate must be positive, not {self.per_second}")

    def frame_at(self, at_ms: int) -> int:
        """The frame on screen at ``at_ms``."""
        return math.floor(Fraction(at_ms, 1000) * self.per_second)

    def nearest_frame(self, at_ms: int) -> int:
        """The frame whose start lies nearest; a tie goes to the later one."""
        return math.floor(Fraction(at_ms, 1000) * self.per_second + Fraction(1, 2))

    def first_frame_from(self, at_ms: int) -> int:
        """The first frame that starts at or after ``at_ms``."""
        return math.ceil(Fraction(at_ms, 1000) * self.per_second)

    def start_s(self, frame: int) -> Fraction:
        """When the frame starts, exactly."""
        return frame / self.per_second

    def start_ms(self, frame: int) -> int:
        """When the frame starts, to the nearest millisecond (half up)."""
        return math.floor(frame * 1000 / self.per_second + Fraction(1, 2))


def seconds(at_ms: int) -> float:
    """Milliseconds as seconds, rounded to the millisecond."""
    return round(at_ms / 1000, 3)


def milliseconds(at_s: float) -> int:
    """Seconds as the nearest whole millisecond."""
    return round(at_s * 1000)


def clock(at_ms: int) -> str:
    """``m:ss.t`` or ``h:mm:ss.t`` for people to read; tenths are cut, not rounded, so no time is ahead of itself."""
    tenths = at_ms // 100
    minutes, rest = divmod(tenths, 600)
    hours, minutes = divmod(minutes, 60)
    tail = f"{rest // 10:02d}.{rest % 10}"
    return f"{hours}:{minutes:02d}:{tail}" if hours else f"{minutes}:{tail}"
