"""Where a stretch of words is broken into cues, and a cue into lines.

The cheapest way over all ways is taken. A cue holds at most two lines of at most 42 characters (Netflix Timed Text
Style Guide; two lines also BBC Subtitle Guidelines and DCMP Captioning Key) and lasts at most 7 s; inside those
limits a cue would rather be one whole sentence, be broken where ``lessoncut.phrasing`` says, or at a pause, stand on
one line, and have an upper line no longer than the lower one. The weights are ours.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

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
_LINE_BREAK_SHARE = 0.6
_HANG_MS = 500
_GAP_MS = 83
"""Two frames of 24."""
_FEELABLE_PAUSE_MS = 200
"""A pause from here on is a place to break (Campione and Veronis 2002: brief pauses are under 200 ms)."""


def broken(words: Sequence[LessonWord], language: str) -> list[tuple[int, ...]]:
    """For every cue, how many words each of its lines holds."""
    kinds = [break_between(left.text, right.text, language) for left, right in pairwise(words)]
    places = [_place_cost(kind, left, right) for kind, (left, right) in zip(kinds, pairwise(words), strict=True)]
    ends = [kind == "sentence" for kind in kinds]
    best: list[tuple[float, int, tuple[int, ...]]] = [(0.0, 0, ())]
    for upto in range(1, len(words) + 1):
        ways = []
        for first in range(upto - 1, -1, -1):
            layout_cost, lines = _layout([len(w.text) for w in words[first:upto]], places[first:], ends[first:])
            cost = layout_cost + _timing_cost(words, first, upto)
            if first < upto - 1 and cost >= _IMPOSSIBLE_COST:
                break
            before = places[first - 1] if first else 0.0
            ways.append((best[first][0] + before + _CUE_COST + cost, first, lines))
        best.append(min(ways))
    cues = []
    at = len(words)
    while at:
        _, first, lines = best[at]
        cues.append(lines)
        at = first
    return cues[::-1]


def _place_cost(kind: Break, left: LessonWord, right: LessonWord) -> float:
    pause_ms = right.span.start_ms - left.span.end_ms
    relief = min(pause_ms / 100, 8.0) if pause_ms >= _FEELABLE_PAUSE_MS else 0.0
    return max(0.0, _BREAK_COST[kind] - relief)


def _timing_cost(words: Sequence[LessonWord], first: int, upto: int) -> float:
    start_ms, end_ms = words[first].span.start_ms, words[upto - 1].span.end_ms
    room_ms = words[upto].span.start_ms - _GAP_MS if upto < len(words) else end_ms + _HANG_MS
    shown_ms = min(end_ms + _HANG_MS, room_ms) - start_ms
    too_long = _IMPOSSIBLE_COST if end_ms - start_ms > LONGEST_MS else 0.0
    return too_long + (_TOO_SHORT_COST if shown_ms < SHORTEST_SHOWN_MS else 0.0)


def _layout(lengths: Sequence[int], places: Sequence[float], ends: Sequence[bool]) -> tuple[float, tuple[int, ...]]:
    """One line where it fits; else the best of two; a word longer than a line stands as it is."""
    whole = _width(lengths)
    joined_all = sum(ends[: len(lengths) - 1])
    ways: list[tuple[float, tuple[int, ...]]] = []
    if whole <= MOST_CHARACTERS or len(lengths) == 1:
        ways.append((_JOINED_SENTENCES_COST * joined_all, (len(lengths),)))
    for at in range(1, len(lengths)):
        upper, lower = _width(lengths[:at]), _width(lengths[at:])
        if max(upper, lower) > MOST_CHARACTERS:
            continue
        joined = joined_all - 0.5 * ends[at - 1]
        uneven = abs(upper - lower) / 8 + (1.0 if upper > lower else 0.0)
        cost = 4.0 + _LINE_BREAK_SHARE * places[at - 1] + uneven + _JOINED_SENTENCES_COST * joined
        ways.append((cost, (at, len(lengths) - at)))
    return min(ways, default=(_IMPOSSIBLE_COST, (len(lengths),)))


def _width(lengths: Sequence[int]) -> int:
    return sum(lengths) + len(lengths) - 1
