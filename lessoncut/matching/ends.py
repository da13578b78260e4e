"""The end of a line said once more by itself: it was taken for the line, whose first words the aligner squeezed in."""

from __future__ import annotations

from collections.abc import Sequence

from lessoncut import wording
from lessoncut.matching.attempts import DOUBTFUL, Attempt, Unscripted
from lessoncut.matching.ground import Ground, said
from lessoncut.matching.lay import Candidate

FEWEST_LACKING, FEWEST_HEARD, LIKE = 2, 2, 0.8
"""So many first words of the line were not heard, and so many of the others, so nearly."""
LEAST_BETTER = 1000.0
"""How much better the others alone must fit all of its sound, summed over frames."""


def with_ends_apart(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts in time order without those that are but the end of a line read elsewhere; and the talk, with these:
    who says half a line once more means the half."""
    ends = {attempt: first for attempt in attempts if (first := _first_heard(attempt, attempts))}
    wholes = {attempt: Candidate(attempt.line, attempt.upto, attempt.span) for attempt in ends}
    answers = ground.ask(list(wholes.values()))
    requests = [ground.request(each.line, each.texts[first:], each.span) for each, first in ends.items()]
    alone = ground.align(requests) if requests else ()
    apart = {
        attempt
        for attempt, end in zip(ends, alone, strict=True)
        if ground.fit(attempt.span, end) > ground.fit(attempt.span, answers[wholes[attempt]]) + LEAST_BETTER
    }
    talk = [Unscripted(attempt.span, attempt.heard) for attempt in apart]
    return [each for each in attempts if each not in apart], sorted([*left, *talk], key=lambda each: each.span)


def _first_heard(attempt: Attempt, attempts: Sequence[Attempt]) -> int:
    """From which of its words on a doubtful reading was heard, where the line is read better elsewhere; else 0."""
    heard = said(attempt.heard)
    if not (attempt.full and attempt.laid) or attempt.doubt <= DOUBTFUL or len(heard) < FEWEST_HEARD:
        return 0
    if not any(other.full and other.line == attempt.line and other.doubt < attempt.doubt for other in attempts):
        return 0
    first = max(0, len(attempt.texts) - len(heard))
    return first if first >= FEWEST_LACKING and wording.row_likeness(heard, attempt.texts[first:]) >= LIKE else 0
