"""Lines picked up after the ending that were heard as other words: "above the leaf" of "A button, a leaf". Nothing is
missing there, so any line may be what was said; only its other readings can tell."""

from __future__ import annotations

import math
from collections.abc import Sequence
from heapq import nsmallest

from lessoncut.matching.attempts import Attempt, Unscripted
from lessoncut.matching.examples import ABOUT_AS_LONG, SO_NEAR, Place, readings_by_line, usual_distance, with_read
from lessoncut.matching.ground import Ground
from lessoncut.times import Span

FAR_NEARER = 0.75
"""Of how far it is from the nearest other line, at most, it is from its own."""


def with_lines_picked_up(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts in time order, with the talk among the lines that were picked up after the ending, or right before
    or behind them, that sounds as another reading of a line and as that of no other; and what is left of the talk."""
    after_ms = _end_of_the_ending(ground, attempts)
    talks = [talk for talk in left if talk.words and after_ms is not None and talk.span.start_ms >= after_ms]
    readings = readings_by_line(attempts)
    usual = usual_distance(ground, list(readings.values())) if talks else math.nan
    found: list[Place] = []
    for talk in talks:
        apart = {
            line: ground.distance(talk.span, [each for each in spans if _is_as_long(talk, each)])
            for line, spans in readings.items()
            if ground.script.lines[line].in_passage
        }
        first, second = nsmallest(2, [*apart.values(), math.inf, math.inf])
        if first <= SO_NEAR * usual and first <= FAR_NEARER * second:
            nearest = min(apart, key=lambda line: (apart[line], line))
            found.append(Place(ground.whole(nearest, talk.span), (talk,), talk.span, talk.words))
    return with_read(ground, attempts, left, found)


def _end_of_the_ending(ground: Ground, attempts: Sequence[Attempt]) -> int | None:
    """When the last line that is none of the passage was read, if lines of the passage were read behind it."""
    inside = [ground.script.lines[each.line].in_passage for each in attempts]
    last = next((at for at in range(len(attempts) - 1, -1, -1) if not inside[at]), None)
    if last is None or last + 1 == len(attempts) or True not in inside[:last]:
        return None
    return attempts[last].span.end_ms


def _is_as_long(talk: Unscripted, example: Span) -> bool:
    return ABOUT_AS_LONG[0] < talk.span.length_ms / example.length_ms < ABOUT_AS_LONG[1]
