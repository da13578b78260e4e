"""Starts that break off near the end of their line and were taken for all of it: of "a spoonful of lem" a recogniser
makes "a spoonful of lemon". Laid on the other readings of their line, they lack its end.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise, takewhile

from lessoncut.matching.attempts import Attempt
from lessoncut.matching.ground import Ground, said
from lessoncut.matching.likelier import readings_beside, wider

LACKING_MS, LACKING_OTHERWISE_MS = 170, 250
"""So much of each other reading's end is lacked: where all of the line was heard, and where its last words were not. Of
832 readings of known truth that are read again four lack so much, all of them misread; of eight starts that were taken
for one five do."""
FEWEST_ALIKE = 2
"""Words of the line that were heard before what is no word of it."""


def with_starts_cut_short(ground: Ground, attempts: Sequence[Attempt]) -> list[Attempt]:
    """The attempts in time order, those that lack their line's end, and are begun anew, being starts."""
    again = {before for before, following in pairwise(attempts) if before.line == following.line and following.full}
    return [
        _start(attempt) if attempt in again and _is_cut_short(ground, attempt, attempts) else attempt
        for attempt in attempts
    ]


def _is_cut_short(ground: Ground, attempt: Attempt, attempts: Sequence[Attempt]) -> bool:
    if not attempt.full or attempt.changes or not 0 < _begun(attempt) < len(attempt.words):
        return False
    whole = said(attempt.heard) == attempt.texts
    span = wider(ground, attempts, attempt.span)
    others = readings_beside(ground, attempts, attempt, attempt.line)
    likenesses = [ground.compare(span, other) for other in others]
    least_ms = LACKING_MS if whole else LACKING_OTHERWISE_MS
    return all(each is not None and each.lacking_ms >= least_ms for each in likenesses)


def _begun(attempt: Attempt) -> int:
    """The words before that in which it may break off; 0 where it does not: its end, or too much else, was heard."""
    heard, texts = said(attempt.heard), attempt.texts
    if heard == texts:
        return len(texts) - 1
    alike = sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], zip(heard, texts, strict=False)))
    may_be = alike >= FEWEST_ALIKE and len(heard) <= alike + 1 and heard[-1] != texts[-1]
    return min(alike, len(texts) - 1) if may_be else 0


def _start(attempt: Attempt) -> Attempt:
    """The words before that in which it breaks off, whose sound is theirs."""
    *words, last = attempt.words[: _begun(attempt)]
    begun = (*words, replace(last, span=last.span.hull(attempt.words[-1].span)))
    return replace(attempt, full=False, upto=len(begun), words=begun)
