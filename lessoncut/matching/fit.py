"""How well laid words account for all the speech of a stretch: by their own scores alone, fewer words fit better."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise

from lessoncut.times import Span

UNSAID = -50.0
"""Score a frame of speech that no word accounts for."""
FRAME_MS = 10


def fit(whole: Span, scored: Sequence[tuple[Span, float]], speech_ms: Callable[[Span], int]) -> float:
    """Score of the words' frames, and of the speech inside ``whole`` that they leave out, summed.

    ``scored``: each word's span and its mean score a frame, in order. ``speech_ms`` tells how much of a span is speech.
    """
    start, end = Span(whole.start_ms, whole.start_ms), Span(whole.end_ms, whole.end_ms)
    gaps = [(a.end_ms, b.start_ms) for a, b in pairwise([start, *(span for span, _ in scored), end])]
    unsaid_ms = sum(speech_ms(Span(*gap)) for gap in gaps if gap[0] < gap[1])
    return (sum(score * span.length_ms for span, score in scored) + UNSAID * unsaid_ms) / FRAME_MS
