"""Starts of the wrong line: who begins "The baker's mother" before "The baker's son wakes up." stops there."""

from __future__ import annotations

from collections.abc import Sequence

from lessoncut.matching.attempts import Attempt
from lessoncut.matching.ground import Ground, said, surely_heard
from lessoncut.matching.lay import Candidate
from lessoncut.matching.lines import laid_anyway

SURE = 0.6
"""How sure the recogniser must have been of each word."""


def with_starts_of_wrong_lines(ground: Ground, attempts: Sequence[Attempt]) -> list[Attempt]:
    """The attempts in time order, a start that was heard as the very words that one other line near it begins in, and
    its own does not, being of that line."""
    wrong = {attempt: whole for attempt in attempts if (whole := _as_heard(ground, attempt))}
    answers = ground.ask(list(wrong.values()))
    return [
        laid_anyway(ground, wrong[each], answers[wrong[each]], each.heard, each.doubt) if each in wrong else each
        for each in attempts
    ]


def _as_heard(ground: Ground, attempt: Attempt) -> Candidate | None:
    heard = said(attempt.heard)
    rows = ground.spoken_words
    if attempt.full or not surely_heard(attempt.heard, 2, SURE) or rows[attempt.line][: len(heard)] == heard:
        return None
    lines = [line for line in ground.near(attempt.line) if rows[line][: len(heard)] == heard != rows[line]]
    return Candidate(lines[0], len(heard), attempt.span) if len(lines) == 1 else None
