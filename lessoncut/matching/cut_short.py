"""Starts that break off in their last word and were heard whole: of "a spoonful of lem" a recogniser makes "a spoonful
of lemon". Laid on the other readings of their line, they lack its end.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from lessoncut.matching.attempts import Attempt
from lessoncut.matching.ground import Ground, said
from lessoncut.matching.lay import Likeness
from lessoncut.matching.likelier import wider

LACKING_MS = 170
"""So much of each other reading's end is lacked. Of 832 readings of known truth that are read again, and were heard as
the script, none lacks so much; of five such starts three do."""


def with_starts_cut_short(ground: Ground, attempts: Sequence[Attempt]) -> list[Attempt]:
    """The attempts in time order, those that lack their line's end, and are begun anew, being starts."""
    again = {before for before, following in pairwise(attempts) if before.line == following.line and following.full}
    return [
        _start(attempt) if attempt in again and _is_cut_short(ground, attempt, attempts) else attempt
        for attempt in attempts
    ]


def _is_cut_short(ground: Ground, attempt: Attempt, attempts: Sequence[Attempt]) -> bool:
    heard_whole = attempt.full and not attempt.changes and said(attempt.heard) == attempt.texts
    if not heard_whole or len(attempt.words) < 2:
        return False
    others = [each for each in attempts if each.full and each.line == attempt.line and each is not attempt]
    span, *spans = (wider(ground, attempts, each.span) for each in (attempt, *others))
    likenesses = [ground.compare(span, other) for other in spans]
    return all(likeness is not None and _lacks(likeness) for likeness in likenesses)


def _lacks(likeness: Likeness) -> bool:
    return likeness.lacking_ms >= LACKING_MS


def _start(attempt: Attempt) -> Attempt:
    """Its words but the last one, whose sound is theirs."""
    *words, before, last = attempt.words
    begun = (*words, replace(before, span=before.span.hull(last.span)))
    return replace(attempt, full=False, upto=len(begun), words=begun)
