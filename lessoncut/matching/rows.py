"""Several short lines read in one breath, and heard as something else: "Sign, shine. Mess, mesh." as "Sanshan mismesh".

Where lines are missing between two readings, every stretch of the speech there is asked whether it may hold one of
them, or some in a row: the recogniser must find their words hardly less likely than what it heard.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

from lessoncut.hearing.records import AlignedWord, HeardWord
from lessoncut.matching.attempts import WORD_MS, Attempt, Unscripted
from lessoncut.matching.ground import MOST_MISSING, Ground
from lessoncut.matching.lay import Candidate, stretches
from lessoncut.matching.lines import CLEAR_COST
from lessoncut.matching.records import ReadWord
from lessoncut.times import Span, SpanIndex, merged, without

LEAST_LASTS, MOST_LASTS = 0.6, 1.8
"""Of the time that the lines take."""
LESS_LIKELY, LOWER = 3.0, 12.0
"""How much less likely than what was heard, in natural logarithms, a line may be, and how far below the usual score it
may lie."""
LESS_LIKELY_ROW, LOWER_ROW = 25.0, 8.0
"""The same of several lines: a row of words that sound alike is never likely, but nothing else lies like it."""
LEAST_MS = 150
"""Shorter speech is a ragged edge."""
NEAR_MS = 60_000
"""Further apart the same line is read in two passes."""
MOST_STRETCHES = 6
"""Pieces of speech between two readings; where there are more she talks."""


@dataclass(frozen=True)
class _Row:
    """Lines, one after another, that a stretch of sound may hold."""

    lines: tuple[int, ...]
    stretch: Span

    @property
    def lower(self) -> float:
        return LOWER if len(self.lines) == 1 else LOWER_ROW

    @property
    def less_likely(self) -> float:
        return LESS_LIKELY if len(self.lines) == 1 else LESS_LIKELY_ROW

    def words(self, ground: Ground) -> tuple[str, ...]:
        return tuple(word for line in self.lines for word in ground.spoken_words[line])

    def written(self, ground: Ground) -> str:
        wholes = (Candidate(line, len(ground.spoken_words[line]), self.stretch) for line in self.lines)
        return " ".join(ground.written(whole) for whole in wholes)


def with_rows(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts in time order, with missing lines in the speech that may be them; and what is left of the talk."""
    rows = list(_rows(ground, attempts))
    asked = [ground.request_heard(row.words(ground), row.stretch) for row in rows]
    laid = dict(zip(rows, ground.align(asked) if asked else (), strict=True))
    lying = [row for row in rows if laid[row].words and laid[row].mean_score >= ground.usual_score - row.lower]
    heard = [_text(ground.heard_near(row.stretch), row.stretch) for row in lying]
    questions = [
        ground.wordings(row.stretch, text, row.written(ground)) for row, text in zip(lying, heard, strict=True)
    ]
    likely = [
        (answer.logs[1] - answer.logs[0], row)
        for row, text, answer in zip(lying, heard, ground.weigh(questions), strict=True)
        if text and answer.logs and answer.logs[1] >= answer.logs[0] - row.less_likely
    ]
    found = _chosen(likely)
    parted = [tuple(_parted(ground, row, laid[row].words, laid[row].mean_score)) for row in found]
    lines = [line for lines in parted for line in lines]
    taken = SpanIndex(merged(_taken(ground, *pair) for pair in zip(found, parted, strict=True)))
    kept = [each for each in attempts if each.full or not taken.meeting(each.span)]
    rest = [part for talk in left for part in _left(talk, taken)]
    return sorted([*kept, *lines], key=lambda each: each.span), rest


def _rows(ground: Ground, attempts: Sequence[Attempt]) -> Iterator[_Row]:
    """What each stretch of the speech between two readings may be of the lines that are missing there."""
    for before, after in pairwise(each for each in attempts if each.full):
        missing = range(before.line + 1, after.line)
        between = Span(before.span.end_ms, max(before.span.end_ms, after.span.start_ms))
        speech = [part for each in ground.speech(between) if (part := each.clipped(between)).length_ms >= LEAST_MS]
        if not 0 < len(missing) <= MOST_MISSING or len(speech) > MOST_STRETCHES:
            continue
        for first, last in combinations(range(missing.start, missing.stop + 1), 2):
            expected_ms = sum(ground.expected_ms(line, len(ground.spoken_words[line])) for line in range(first, last))
            for stretch in stretches(speech, expected_ms):
                if LEAST_LASTS < ground.speech_ms(stretch) / expected_ms < MOST_LASTS:
                    yield _Row(tuple(range(first, last)), stretch)


def _chosen(likely: Sequence[tuple[float, _Row]]) -> list[_Row]:
    """The longest and likeliest rows of which no two share sound, or have a line in common in one place."""
    found: list[_Row] = []
    for _, row in sorted(likely, key=lambda each: (-len(each[1].lines), -each[0])):
        apart = all(not row.stretch.overlap_ms(other.stretch) for other in found)
        if apart and all(set(row.lines).isdisjoint(other.lines) or not _near(row, other) for other in found):
            found.append(row)
    return found


def _near(row: _Row, other: _Row) -> bool:
    return row.stretch.gap_to_ms(other.stretch) < NEAR_MS


def _text(heard: Sequence[HeardWord], stretch: Span) -> str:
    return " ".join(word.text for word in heard if stretch.contains(word.span.middle_ms))


def _parted(ground: Ground, row: _Row, words: Sequence[AlignedWord], score: float) -> Iterator[Attempt]:
    """The row's lines as they were laid, each by itself."""
    first = 0
    for line in row.lines:
        upto = first + len(ground.spoken_words[line])
        laid = tuple(ReadWord(word.text, word.span, None) for word in words[first:upto])
        span = laid[0].span.hull(laid[-1].span)
        heard = ground.heard_inside(span)
        yield Attempt(line, True, len(laid), laid, heard, CLEAR_COST, laid=True, score=score)
        first = upto


def _taken(ground: Ground, row: _Row, lines: Sequence[Attempt]) -> Span:
    """The lines with the speech that they stand in: other speech of the row's stretch may hold none of them."""
    return ground.with_speech(lines[0].span.hull(lines[-1].span)).clipped(row.stretch)


def _left(talk: Unscripted, taken: SpanIndex) -> list[Unscripted]:
    """What is left of the talk, where there are words or as much sound as one has."""
    holes = taken.meeting(talk.span)
    if not holes:
        return [talk]
    parts = [
        Unscripted(part, tuple(word for word in talk.words if part.contains(word.span.middle_ms)))
        for part in without(talk.span, holes)
    ]
    return [part for part in parts if part.words or part.span.length_ms >= WORD_MS]
