"""Where a stretch of words is broken into cues, and a cue into lines.

The cheapest way over all ways is taken. A cue holds at most two lines of at most 42 characters (Netflix Timed Text
Style Guide; two lines also BBC Subtitle Guidelines and DCMP Captioning Key) and lasts at most 7 s; inside those
limits a cue would rather be one whole sentence, be broken where ``lessoncut.phrasing`` says, or at a pause, stand on
one line, and have an upper line no longer than the lower one. The weights are ours.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import accumulate, pairwise

from lessoncut.lesson.records import LessonWord
from lessoncut.phrasing import Break, break_between

MOST_CHARACTERS = 42
MOST_LINES = 2
LONGEST_MS = 7000
SHORTEST_SHOWN_MS = 880
"""5/6 s and a frame: a cue that could not be shown for so long, half a second after its words counted in, is
better joined to a neighbour."""

_BREAK_COST: dict[Break, float] = {
    "sentence": 0.0, "clause": 2.0, "conjunction": 5.0, "preposition": 6.0, "plain": 10.0, "pair": 45.0,
}  # fmt: skip
_CUE_COST = 10.0
_JOINED_SENTENCES_COST = 25.0
_TOO_SHORT_COST = 60.0
_IMPOSSIBLE_COST = 1000.0
_NONE: tuple[float, tuple[int, ...]] = (_IMPOSSIBLE_COST, ())
_TWO_LINES_COST = 4.0
_LINE_BREAK_SHARE = 0.6
_HANG_MS = 500
_GAP_MS = 83
"""Two frames of 24."""
_FEELABLE_PAUSE_MS = 200
"""A pause from here on is a place to break (Campione and Veronis 2002: brief pauses are under 200 ms)."""


def broken(words: Sequence[LessonWord], language: str) -> list[tuple[int, ...]]:
    """For every cue, how many words each of its lines holds: the cheapest way of all."""
    costs = BreakCosts(words, language)
    best: list[tuple[float, int, tuple[int, ...]]] = [(0.0, 0, ())]
    for upto in range(1, len(words) + 1):
        ways: list[tuple[float, int, tuple[int, ...]]] = []
        for first in range(upto - 1, -1, -1):
            cost, lines = min(
                ((costs.of_cue(first, lines), lines) for lines in costs.shapes(first, upto)), default=_NONE
            )
            if cost >= _IMPOSSIBLE_COST and upto - first > 1:
                break  # more words make it no better
            ways.append((best[first][0] + cost, first, lines))
        best.append(min(ways))
    cues = []
    at = len(words)
    while at:
        _, first, lines = best[at]
        cues.append(lines)
        at = first
    return cues[::-1]


class BreakCosts:
    """What it costs to break these words at each place; the sum over all cues is what ``broken`` makes least."""

    def __init__(self, words: Sequence[LessonWord], language: str) -> None:
        kinds = [break_between(left.text, right.text, language) for left, right in pairwise(words)]
        pairs = zip(kinds, pairwise(words), strict=True)
        self._words = words
        self._places = [_place_cost(kind, left, right) for kind, (left, right) in pairs]
        self._sentence_ends = [0, *accumulate(kind == "sentence" for kind in kinds)]
        self._lengths = [0, *accumulate(len(word.text) + 1 for word in words)]

    def shapes(self, first: int, upto: int) -> Iterator[tuple[int, ...]]:
        """The ways to lay these words on lines that may be the cheapest; none where they do not fit."""
        count = upto - first
        fits = self._width(first, upto) <= MOST_CHARACTERS
        if fits or count == 1:
            yield (count,)
        if not fits or self._sentence_ends[upto - 1] > self._sentence_ends[first]:
            for middle in range(first + 1, upto):
                if max(self._width(first, middle), self._width(middle, upto)) <= MOST_CHARACTERS:
                    yield (middle - first, upto - middle)

    def of_cue(self, first: int, lines: Sequence[int]) -> float:
        """The cost of a cue whose first word is ``first``, the break before it included."""
        upto = first + sum(lines)
        before = self._places[first - 1] if first else 0.0
        inside = self._sentence_ends[upto - 1] - self._sentence_ends[first]
        return _CUE_COST + before + self._timing(first, upto) + self._layout(first, lines, inside)

    def _layout(self, first: int, lines: Sequence[int], sentence_ends: int) -> float:
        edges = [first, *accumulate(lines, initial=first)][1:]
        widths = [self._width(start, end) for start, end in pairwise(edges)]
        cost = _JOINED_SENTENCES_COST * sentence_ends
        if max(widths) > MOST_CHARACTERS or len(lines) > MOST_LINES:
            cost += _IMPOSSIBLE_COST
        if len(lines) == 1:
            return cost
        break_at, (upper, lower) = edges[1], widths
        parted = self._sentence_ends[break_at] - self._sentence_ends[break_at - 1]
        uneven = abs(upper - lower) / 8 + (1.0 if upper > lower else 0.0)
        return (
            cost
            - _JOINED_SENTENCES_COST / 2 * parted
            + _TWO_LINES_COST
            + _LINE_BREAK_SHARE * self._places[break_at - 1]
            + uneven
        )

    def _width(self, first: int, upto: int) -> int:
        return self._lengths[upto] - self._lengths[first] - 1

    def _timing(self, first: int, upto: int) -> float:
        start_ms, end_ms = self._words[first].span.start_ms, self._words[upto - 1].span.end_ms
        shown_until_ms = end_ms + _HANG_MS
        if upto < len(self._words):
            shown_until_ms = min(shown_until_ms, self._words[upto].span.start_ms - _GAP_MS)
        too_long = _IMPOSSIBLE_COST if end_ms - start_ms > LONGEST_MS else 0.0
        return too_long + (_TOO_SHORT_COST if shown_until_ms - start_ms < SHORTEST_SHOWN_MS else 0.0)


def _place_cost(kind: Break, left: LessonWord, right: LessonWord) -> float:
    pause_ms = right.span.start_ms - left.span.end_ms
    relief = min(pause_ms / 100, 8.0) if pause_ms >= _FEELABLE_PAUSE_MS else 0.0
    return max(0.0, _BREAK_COST[kind] - relief)
