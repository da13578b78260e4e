"""A sound told in words, for tests: it answers alignment requests as a perfect aligner would."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from lessoncut import wording
from lessoncut.hearing.records import AlignedWord, Alignment, AlignmentRequest, Likelihoods
from lessoncut.hearing.told import told
from lessoncut.matching.lay import Weigh
from lessoncut.times import Span


@dataclass(frozen=True)
class Like:
    """How alike two stretches are, told by the test; every part is ``part`` times as far as usual."""

    distance: float = 1.0
    lacking_ms: int = 0
    part: float = 1.0

    def apart(self, _: Span, /) -> float:
        return self.part


@dataclass(frozen=True)
class Begun:
    """The beginning of a stretch that another one is most like, told by the test."""

    distance: float
    length_ms: int = 1000


CLEAR = -20.0
"""Score of a word that was said."""
WRONG = -80.0
"""Score of a word that was not said, where most of the row's others were."""


def sounding(text: str) -> Callable[[Sequence[AlignmentRequest]], tuple[Alignment, ...]]:
    """What is really said, in the notation of ``told``, as something that can be asked.

    A request is granted where its words, or most of them, are said one after another inside its window.
    """
    words = [AlignedWord(part, word.span, CLEAR) for word in told(text).words for part in wording.spoken(word.text)]
    middles_ms = [word.span.middle_ms for word in words]

    def answer(request: AlignmentRequest) -> Alignment:
        first, end = (bisect_left(middles_ms, at_ms) for at_ms in (request.window.start_ms, request.window.end_ms))
        inside = words[first:end]
        count = len(request.words)
        rows = [_laid(request.words, inside[at : at + count]) for at in range(len(inside) - count + 1)]
        best = max(rows, key=lambda row: sum(word.score for word in row), default=())
        wrong = sum(word.score == WRONG for word in best)
        return Alignment(request, best if wrong < count / 2 else ())

    return lambda requests: tuple(answer(request) for request in requests)


def _laid(words: Sequence[str], said: Sequence[AlignedWord]) -> tuple[AlignedWord, ...]:
    return tuple(
        AlignedWord(word, there.span, CLEAR if word == there.text else WRONG)
        for word, there in zip(words, said, strict=True)
    )


def scoring(
    score_of: Callable[[AlignmentRequest, str], float],
) -> Callable[[Sequence[AlignmentRequest]], tuple[Alignment, ...]]:
    """An aligner that lays every row evenly on its window, each word with the score that it has in that row."""

    def answer(request: AlignmentRequest) -> Alignment:
        window, count = request.window, len(request.words)
        edges_ms = [window.start_ms + window.length_ms * at // count for at in range(count + 1)]
        spans = [Span(*between) for between in pairwise(edges_ms)]
        scores = [score_of(request, word) for word in request.words]
        return Alignment(request, tuple(map(AlignedWord, request.words, spans, scores)))

    return lambda requests: tuple(map(answer, requests))


def weighing(logs: Mapping[str, float], otherwise: float = -40.0) -> Weigh:
    """A recogniser that finds each of these texts as likely as that wherever it is asked, and all others hardly so."""
    return lambda requests: tuple(
        Likelihoods(request, tuple(logs.get(text, otherwise) for text in request.texts)) for request in requests
    )
