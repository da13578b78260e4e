"""Questions to the aligner: may these words of this line fill that stretch of sound?"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

from lessoncut.hearing.records import Alignment, AlignmentRequest, Likelihoods, Wordings
from lessoncut.matching.records import Change
from lessoncut.times import Span

Ask = Callable[[Sequence[AlignmentRequest]], Sequence[Alignment]]
"""Answers alignment requests, in order."""
Weigh = Callable[[Sequence[Wordings]], Sequence[Likelihoods]]
"""Says how likely wordings are, in order."""

MOST_STRETCHES = 15


class Likeness(Protocol):
    """Of one stretch of sound to another; see ``hearing.warping.Likeness``."""

    @property
    def distance(self) -> float:
        """How far apart they are, on the mean."""

    @property
    def lacking_ms(self) -> int:
        """How much of the other one's end this one lacks."""

    def apart(self, span: Span, /) -> float:
        """How many times as far apart as is usual for the two the sound of this part is."""


class Beginning(Protocol):
    """Of one stretch of sound, as another one is most like it; see ``hearing.warping.Beginning``."""

    @property
    def distance(self) -> float:
        """How far apart they are, on the mean."""

    @property
    def length_ms(self) -> int: ...


Compare = Callable[[Span, Span], Likeness | None]
"""How like one stretch sounds to another; None where nobody can tell."""
Begins = Callable[[Span, Sequence[Span]], Sequence[Beginning]]
"""For each of the others that beginning which the stretch is most like; none where nobody can tell."""


@dataclass(frozen=True)
class Candidate:
    """The line's words ``[0, upto)`` may fill ``stretch``; ``line`` is an index into the script's lines.

    ``misread``: with this change in them, where the whole line is meant.
    """

    line: int
    upto: int
    stretch: Span
    misread: Change | None = None


def nobody_weighs(requests: Sequence[Wordings]) -> tuple[Likelihoods, ...]:
    """For callers without a recogniser."""
    return tuple(Likelihoods(request, ()) for request in requests)


def nobody_compares(span: Span, other: Span) -> None:
    """For callers without the sound."""


def nobody_begins(span: Span, others: Sequence[Span]) -> tuple[Beginning, ...]:  # noqa: ARG001 - the shape of Begins
    """For callers without the sound."""
    return ()


def stretches(speech: Sequence[Span], expected_ms: float) -> tuple[Span, ...]:
    """Every stretch from the start of one speech span to the end of the same or a later one, shortest first.

    Of very many only those nearest to the time that is expected: a long line may have a pause at every comma.
    """
    all_of_them = [Span(a.start_ms, b.end_ms) for i, a in enumerate(speech) for b in speech[i:]]
    nearest = sorted(all_of_them, key=lambda span: abs(math.log(max(1, span.length_ms) / expected_ms)))
    return tuple(sorted(nearest[:MOST_STRETCHES], key=lambda span: span.length_ms))


def laid_span(alignment: Alignment) -> Span:
    """From the first word's start to the last word's end. Raises ValueError when no path was found."""
    if not alignment.words:
        raise ValueError("no path was found")
    return Span(alignment.words[0].span.start_ms, alignment.words[-1].span.end_ms)
