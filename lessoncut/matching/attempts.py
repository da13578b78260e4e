"""Attempts at lines, as they are found in the sound."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import mean

from lessoncut.hearing.records import HeardWord
from lessoncut.matching.records import Change, ReadWord
from lessoncut.times import Span

CLEAR = 0.75
"""Words that were heard so surely, on average, were mostly said."""

TALK_COST = 2.6
"""A stretch whose best hypothesis costs more is talk, or speech nobody could read."""

DOUBTFUL = 1.2
"""A line heard with more doubt than this is given up where something else fits better."""
UNSURE_START = 1.5
"""A start that is doubted more may be something else."""


@dataclass(frozen=True)
class Attempt:
    """A line, or its first ``upto`` words, laid on the sound.

    ``doubt`` is the cost of the best hypothesis; ``laid`` is False where the recogniser's times had to do.
    """

    line: int
    full: bool
    upto: int
    words: tuple[ReadWord, ...]
    heard: tuple[HeardWord, ...]
    doubt: float
    laid: bool
    changes: tuple[Change, ...] = ()
    score: float = math.nan
    """The aligner's mean score, where it was laid."""

    @property
    def span(self) -> Span:
        return Span(self.words[0].span.start_ms, self.words[-1].span.end_ms)

    @property
    def texts(self) -> tuple[str, ...]:
        return tuple(word.text for word in self.words)

    @property
    def as_said(self) -> tuple[str, ...]:
        """The words, those that were changed as they were heard."""
        words = self.texts
        for change in sorted(self.changes, key=lambda each: -each.first):
            words = change.in_line(words)
        return words

    def words_before(self, at_ms: int) -> int:
        """How many of its words stand before that: their middles do."""
        return sum(word.span.middle_ms < at_ms for word in self.words)

    @property
    def is_unsure_start(self) -> bool:
        return not self.full and self.doubt > UNSURE_START

    def is_start_of(self, reading: Attempt) -> bool:
        """Whether it breaks off in the line that the other one reads."""
        return not self.full and reading.full and self.line == reading.line

    @property
    def confidence(self) -> float:
        """How sure it is that this line was read here, 0 to 1."""
        return round(min(0.99, 1 / (1 + math.exp(1.6 * (self.doubt - TALK_COST)))), 2)


def readings_of(line: int, attempts: Sequence[Attempt], but: Attempt) -> list[Attempt]:
    """All readings of the line but this one."""
    return [each for each in attempts if each.full and each.line == line and each is not but]


@dataclass(frozen=True)
class Unscripted:
    """Speech that is no line. ``words`` is empty where nobody could read it."""

    span: Span
    words: tuple[HeardWord, ...]


def heard_in(part: Attempt | Unscripted) -> tuple[HeardWord, ...]:
    """The words heard in it, be they a line's or not."""
    return part.heard if isinstance(part, Attempt) else part.words


def how_surely(words: Sequence[HeardWord]) -> float:
    """The recogniser's probability, on average. Raises StatisticsError where there are no words."""
    return mean(word.probability for word in words)


def heard_text(part: Attempt | Unscripted) -> str:
    """What was heard in it, as the recogniser wrote it."""
    return " ".join(word.text for word in heard_in(part))


@dataclass(frozen=True)
class Settled:
    """Both in time order, without overlap."""

    attempts: tuple[Attempt, ...]
    unscripted: tuple[Unscripted, ...]


TALK_ON_COST = 1.3
"""For talk that goes on without a pause."""
COVERED = 0.6
WORD_MS = 350
"""So much sound left over holds a word."""
SHARED = 0.4
"""Of the shorter of two attempts."""


def _left_by(attempt: Attempt, other: Attempt) -> float:
    """What it costs that the attempt leaves most of the other's sound to talk; or a word of it, of the same line."""
    shared_ms = attempt.span.overlap_ms(other.span)
    if shared_ms < COVERED * other.span.length_ms:
        return TALK_COST
    same = attempt.full and other.full and attempt.line == other.line
    return TALK_ON_COST if same and other.span.length_ms - shared_ms >= WORD_MS else 0.0


def without_overlap(attempts: Sequence[Attempt]) -> tuple[Attempt, ...]:
    """Two attempts cannot share sound: the one that leaves less doubt stands."""
    kept: list[Attempt] = []
    for attempt in attempts:
        shorter_ms = min(kept[-1].span.length_ms, attempt.span.length_ms) if kept else 0
        if kept and kept[-1].span.overlap_ms(attempt.span) > SHARED * shorter_ms:
            if attempt.doubt + _left_by(attempt, kept[-1]) < kept[-1].doubt + _left_by(kept[-1], attempt):
                kept[-1] = attempt
        else:
            kept.append(attempt)
    return tuple(kept)


def evenly(texts: Sequence[str], span: Span, heard: Mapping[int, str] | None = None) -> tuple[ReadWord, ...]:
    """The words, which share the time of the span; ``heard``: what was heard for some of them, by their places."""
    by_place = heard or {}
    places = enumerate(zip(texts, span.parts(len(texts)), strict=True))
    return tuple(ReadWord(text, part, by_place.get(at)) for at, (text, part) in places)
