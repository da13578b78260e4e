"""What follows a line's start: its own rest, though it was heard as another line like it, or as another start."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from lessoncut import wording
from lessoncut.matching.attempts import Attempt
from lessoncut.matching.ground import RUNS_ON_MS, Ground, said
from lessoncut.matching.lay import Candidate
from lessoncut.matching.lines import CLEAR_COST, COMMA_MS, laid

LOWER = 8.0
"""How far below the usual score the whole line may lie."""
LEAST_TIME = 0.7
"""Of the time that the line takes, for two starts of it in one breath to be all of it."""


def with_own_rests(ground: Ground, attempts: Sequence[Attempt]) -> list[Attempt]:
    """The attempts in time order, some starts and what comes after them being one line: what was heard as another line
    after a comma's pause, where its words are rather the start's own rest, or as another start of it in one breath. The
    sound must bear the whole of it."""
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
    if start.full or not start.laid:
        return False
    gap_ms = start.span.gap_to_ms(other.span)
    if start.line == other.line:
        lasts_ms = ground.speech_ms(start.span.hull(other.span))
        whole_ms = ground.expected_ms(start.line, len(ground.spoken_words[start.line]))
        return not other.full and gap_ms < RUNS_ON_MS and lasts_ms >= LEAST_TIME * whole_ms
    if not other.heard or gap_ms >= COMMA_MS:
        return False
    heard, rest = said(other.heard), ground.spoken_words[start.line][start.upto :]
    return wording.row_likeness(heard, rest) > wording.row_likeness(heard, other.texts)
