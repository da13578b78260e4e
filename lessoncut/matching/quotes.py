"""A line that is quoted: "Remember, the ship sailed at noon is how it goes." is talk, in one breath, about the line."""

from __future__ import annotations

from collections.abc import Sequence

from lessoncut.hearing.records import HeardWord
from lessoncut.matching.attempts import Attempt, Unscripted
from lessoncut.matching.ground import Ground, said
from lessoncut.times import Span

FEWEST_BEFORE, FEWEST_BEHIND, SURE = 1, 2, 0.6
"""So many words must have been heard on either side, so surely: "okay" before a line, or "good" behind it, is none."""
PAUSE_MS = 90
"""So long a pause beside the line parts it from the talk."""
ROUGHLY_MS = 150
"""How far from the line's edge the pause may be."""


def with_quotes_apart(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts in time order without those in the midst of talk that are read elsewhere; and the talk."""
    talks = {attempt: talk for attempt in attempts if (talk := _quoting(ground, attempt, attempts))}
    if not talks:
        return list(attempts), list(left)
    parted = [each for each in left if not any(each.span.overlap_ms(talk.span) for talk in talks.values())]
    return [each for each in attempts if each not in talks], sorted([*parted, *talks.values()], key=lambda e: e.span)


def _quoting(ground: Ground, attempt: Attempt, attempts: Sequence[Attempt]) -> Unscripted | None:
    """The talk around the attempt, if there is enough on both sides, said by nobody's lines and without a pause."""
    others = [other for other in attempts if other is not attempt]
    if not (attempt.full and attempt.laid) or not any(o.full and o.line == attempt.line for o in others):
        return None
    breath = ground.speech(attempt.span)
    if len(breath) != 1 or any(other.span.overlap_ms(breath[0]) for other in others):
        return None
    words = [word for word in ground.hearing.words if breath[0].contains(word.span.middle_ms)]
    before, behind = (
        [w for w in words if w.span.middle_ms < attempt.words[0].span.middle_ms and w not in attempt.heard],
        [w for w in words if w.span.middle_ms > attempt.words[-1].span.middle_ms and w not in attempt.heard],
    )
    enough = _are_enough(before, FEWEST_BEFORE) and _are_enough(behind, FEWEST_BEHIND)
    parted = any(_is_paused(ground, breath[0], edge_ms) for edge_ms in (attempt.span.start_ms, attempt.span.end_ms))
    return Unscripted(breath[0], tuple(words)) if enough and not parted else None


def _are_enough(words: Sequence[HeardWord], fewest: int) -> bool:
    return len(said(words)) >= fewest and all(word.probability >= SURE for word in words)


def _is_paused(ground: Ground, breath: Span, edge_ms: int) -> bool:
    beside = Span(edge_ms - ROUGHLY_MS, edge_ms + ROUGHLY_MS)
    return any(hole.overlap_ms(beside) and hole.length_ms >= PAUSE_MS for hole in ground.holes(breath))
