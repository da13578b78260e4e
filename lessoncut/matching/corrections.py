"""A line read wrong at its end and put right at once: "You were the gardener, you were the cleaner." is one reading,
which ends as the script does."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from lessoncut import wording
from lessoncut.hearing.records import Alignment
from lessoncut.matching.attempts import Attempt, Unscripted
from lessoncut.matching.ground import Ground, said
from lessoncut.matching.lay import Candidate
from lessoncut.matching.lines import laid
from lessoncut.matching.records import Change
from lessoncut.matching.rests import is_behind

AT_ONCE_MS = 1200
"""What is put right later is talk."""
ALIKE = 0.6
"""How like the heard words must be to the line's last ones."""
LOWER = 15.0
"""How far below the usual score these may lie on the sound."""


def with_corrections(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts in time order, a misread line with the talk behind it that says its end again; and what is left."""
    found, rest = list(attempts), list(left)
    for at, attempt in enumerate(found):
        for talk in rest:
            at_once = talk.span.start_ms - attempt.span.end_ms <= AT_ONCE_MS and is_behind(found, at, talk)
            corrected = _corrected(ground, attempt, talk) if at_once else None
            if corrected:
                found[at] = corrected
                rest.remove(talk)
                break
    return found, rest


def _corrected(ground: Ground, attempt: Attempt, talk: Unscripted) -> Attempt | None:
    """The line with the talk as its end said again; None where the talk is something else."""
    first = _corrected_from(attempt, talk)
    if first is None:
        return None
    row, right = attempt.as_said, attempt.texts[first:]
    both = attempt.span.hull(talk.span)
    (answer,) = ground.align([ground.request(attempt.line, (*row, *right), both)])
    if Alignment(answer.request, answer.words[len(row) :]).mean_score < ground.usual_score - LOWER:
        return None
    confidence = max(change.confidence for change in attempt.changes)
    change = Change(first, len(attempt.texts) - 1, right, (*row[first:], *right), confidence=confidence)
    whole = laid(ground, Candidate(attempt.line, len(attempt.texts), both, change), answer, None, attempt.doubt)
    return replace(whole, heard=(*attempt.heard, *talk.words), changes=(change,))


def _corrected_from(attempt: Attempt, talk: Unscripted) -> int | None:
    """From which word of the line on the talk says it again: the first wrong one, or one before it."""
    heard = said(talk.words)
    if not (attempt.full and attempt.laid and attempt.changes and heard):
        return None
    first_wrong = min(change.first for change in attempt.changes)
    likeness = {first: wording.row_likeness(heard, attempt.texts[first:]) for first in range(1, first_wrong + 1)}
    best = max(likeness, key=lambda first: (likeness[first], first), default=0)
    return best if best and likeness[best] >= ALIKE else None
