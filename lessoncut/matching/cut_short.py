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

LACKING_MS, LACKING_OTHERWISE_MS, LACKING_CHANGED_MS = 170, 250, 400
"""So much of each other reading's end is lacked: where all of the line was heard, or its last word in part; where its
last words were not heard; and where others are told instead. Of 832 readings of known truth that are read again four
lack the first or second, all of them misread; of eight starts that were taken for a whole line five do."""
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
    begun = _begun(attempt)
    if (
        not attempt.full
        or any(change.first < begun for change in attempt.changes)
        or not 0 < begun < len(attempt.words)
    ):
        return False
    span = wider(ground, attempts, attempt.span)
    others = readings_beside(ground, attempts, attempt, attempt.line)
    likenesses = [ground.compare(span, other) for other in others]
    least_ms = _least_ms(attempt)
    return all(each is not None and each.lacking_ms >= least_ms for each in likenesses)


def _least_ms(attempt: Attempt) -> int:
    """How much must be lacked, by how much of the line's end was heard: "perfect" is some of "perfectly"."""
    heard, texts = said(attempt.heard), attempt.texts
    in_part = heard != texts and heard[:-1] == texts[:-1] and texts[-1].startswith(heard[-1])
    if attempt.changes and not in_part:
        return LACKING_CHANGED_MS
    return LACKING_MS if in_part or heard == texts else LACKING_OTHERWISE_MS


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
