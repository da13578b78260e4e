"""Lay lines on the sound: which attempt is complete, and where exactly its words lie.

The recogniser's words say roughly where a line was said. The aligner is asked about every stretch of speech the
line may fill there, from every pause to every later pause; the shortest stretch that holds all the line's words is
the reading. What the recogniser swallowed beside it (a broken-off start, a second reading) is left over and asked
about in turn.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from lessoncut.hearing.records import Alignment, AlignmentRequest
from lessoncut.times import Span

Ask = Callable[[Sequence[AlignmentRequest]], Sequence[Alignment]]
"""Answers alignment requests, in order; the only way the matching reaches the sound."""

SPOKEN_SCORE = -50.0
"""Worst word score from which a line counts as spoken (95% of true lines, 0 to 1.4% of anything else)."""
CONTEXT_MS = 150
"""Sound given to the aligner on either side of a stretch, where no other speech stands."""
MOST_STRETCHES = 15


@dataclass(frozen=True)
class Candidate:
    """The line's words ``[0, upto)`` may fill ``stretch``."""

    line: int
    upto: int
    stretch: Span


def stretches(speech: Sequence[Span]) -> tuple[Span, ...]:
    """Every stretch from the start of one speech span to the end of the same or a later one, shortest first."""
    all_of_them = [Span(a.start_ms, b.end_ms) for i, a in enumerate(speech) for b in speech[i:]]
    return tuple(sorted(all_of_them, key=lambda span: span.length_ms)[:MOST_STRETCHES])


def windows(stretch: Span, speech: Sequence[Span], duration_ms: int) -> Span:
    """The stretch with context on both sides, as far as no other speech begins there."""
    before = max((s.end_ms for s in speech if s.end_ms <= stretch.start_ms), default=0)
    after = min((s.start_ms for s in speech if s.start_ms >= stretch.end_ms), default=duration_ms)
    return Span(max(before, stretch.start_ms - CONTEXT_MS), min(after, stretch.end_ms + CONTEXT_MS))


def ask_all(
    ask: Ask,
    candidates: Sequence[Candidate],
    line_ids: Sequence[str],
    words: Sequence[Sequence[str]],
    speech: Sequence[Span],
    duration_ms: int,
) -> dict[Candidate, Alignment]:
    """One round of questions; equal candidates are asked once."""
    distinct = tuple(dict.fromkeys(candidates))
    requests = [
        AlignmentRequest(line_ids[c.line], tuple(words[c.line][: c.upto]), windows(c.stretch, speech, duration_ms))
        for c in distinct
    ]
    return dict(zip(distinct, ask(requests), strict=True)) if requests else {}


def spoken(alignment: Alignment, threshold: float = SPOKEN_SCORE) -> bool:
    return alignment.worst_score >= threshold


def laid_span(alignment: Alignment) -> Span:
    """From the first word's start to the last word's end. Raises ValueError when no path was found."""
    if not alignment.words:
        raise ValueError("no path was found")
    return Span(alignment.words[0].span.start_ms, alignment.words[-1].span.end_ms)


def longest_silence_ms(alignment: Alignment) -> int:
    """The longest hole between two words."""
    return max((a.span.gap_to_ms(b.span) for a, b in pairwise(alignment.words)), default=0)


def speech_share(alignment: Alignment, stretch: Span, speech: Sequence[Span]) -> float:
    """Share of the speech inside the stretch that lies under the laid words."""
    inside = [s.clipped(stretch) for s in speech if s.overlap_ms(stretch)]
    total = sum(s.length_ms for s in inside)
    under = sum(s.overlap_ms(laid_span(alignment)) for s in inside) if alignment.words else 0
    return under / total if total else 0.0
