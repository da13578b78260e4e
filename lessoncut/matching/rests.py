"""What follows a line's start after a comma's pause: its own rest, though it was heard as another line like it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from lessoncut import wording
from lessoncut.matching.attempts import Attempt
from lessoncut.matching.ground import Ground, said
from lessoncut.matching.lay import Candidate
from lessoncut.matching.lines import CLEAR_COST, COMMA_MS, laid

LOWER = 8.0
"""How far below the usual score the whole line may lie."""


def with_own_rests(ground: Ground, attempts: Sequence[Attempt]) -> list[Attempt]:
    """The attempts in time order, a start and what was heard as another line being one line, where the words that were
    heard are rather the start's own rest and the sound bears the whole of it."""
    wholes = {
        (start, rest): Candidate(start.line, len(ground.spoken_words[start.line]), start.span.hull(rest.span))
        for start, rest in pairwise(attempts)
        if _may_be_rest(ground, start, rest)
    }
    answers = ground.ask(list(wholes.values()))
    found: list[Attempt] = []
    for attempt in attempts:
        whole = wholes.get((found[-1], attempt)) if found else None
        if whole and answers[whole].words and answers[whole].mean_score >= ground.usual_score - LOWER:
            heard = (*found[-1].heard, *attempt.heard)
            found[-1] = replace(laid(ground, whole, answers[whole], None, CLEAR_COST), heard=heard)
        else:
            found.append(attempt)
    return found


def _may_be_rest(ground: Ground, start: Attempt, other: Attempt) -> bool:
    near = start.span.gap_to_ms(other.span) < COMMA_MS
    if start.full or start.line == other.line or not (start.laid and other.heard and near):
        return False
    heard, rest = said(other.heard), ground.spoken_words[start.line][start.upto :]
    return wording.row_likeness(heard, rest) > wording.row_likeness(heard, other.texts)
