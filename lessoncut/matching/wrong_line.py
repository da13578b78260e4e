"""Starts of the wrong line: who begins "The baker's mother" before "The baker's son wakes up." stops there."""

from __future__ import annotations

from collections.abc import Sequence

from lessoncut import wording
from lessoncut.hearing.records import Alignment
from lessoncut.matching.attempts import Attempt
from lessoncut.matching.ground import Ground, said, surely_heard
from lessoncut.matching.lay import Candidate
from lessoncut.matching.lines import laid_anyway

SURE = 0.6
"""How sure the recogniser must have been of each word."""
NEARER, NEARER_HEARD, LIKE = 0.7, 0.85, 0.8
"""Of how far the start is from its own line's readings, another line's; and of one that begins so nearly as was heard.
"""
LOWER = 20.0
"""How far lower than on its own line a start may lie on the one that it sounds more like."""
LEAST_MS = 400
"""Less is like anything."""


def with_starts_of_wrong_lines(ground: Ground, attempts: Sequence[Attempt]) -> list[Attempt]:
    """The attempts in time order, a start that was heard as the very words that one other line near it begins in, and
    its own does not, being of that line; or one that sounds so much more like that, and was not surely heard."""
    as_heard = {each: look for each in attempts if (look := _as_heard(ground, each))}
    rest = [each for each in attempts if each not in as_heard]
    as_they_sound = {each: look for each in rest if (look := _as_it_sounds(ground, each, attempts))}
    answers = ground.ask([*as_heard.values(), *as_they_sound.values()])
    wrong = as_heard | {each: look for each, look in as_they_sound.items() if _may_lie(each, answers[look])}
    return [
        laid_anyway(ground, wrong[each], answers[wrong[each]], each.heard, each.doubt) if each in wrong else each
        for each in attempts
    ]


def _may_lie(start: Attempt, answer: Alignment) -> bool:
    """Whether the sound does not gainsay the other line's words; where they have no path it tells nothing."""
    return not (start.laid and answer.words) or answer.mean_score >= start.score - LOWER


def _as_heard(ground: Ground, attempt: Attempt) -> Candidate | None:
    heard = said(attempt.heard)
    rows = ground.spoken_words
    if attempt.full or not surely_heard(attempt.heard, 2, SURE) or rows[attempt.line][: len(heard)] == heard:
        return None
    lines = [line for line in ground.near(attempt.line) if rows[line][: len(heard)] == heard != rows[line]]
    return Candidate(lines[0], len(heard), attempt.span) if len(lines) == 1 else None


def _as_it_sounds(ground: Ground, attempt: Attempt, attempts: Sequence[Attempt]) -> Candidate | None:
    """The start as one of the line near it whose readings begin so much more like it than its own line's do."""
    heard = said(attempt.heard)
    surely_own = heard == attempt.texts and surely_heard(attempt.heard, 1, SURE)
    if attempt.full or not attempt.heard or surely_own or attempt.span.length_ms < LEAST_MS:
        return None
    readings = [each for each in attempts if each.full and each.line in ground.near(attempt.line)]
    beginnings = ground.begins(attempt.span, [each.span for each in readings])
    own = [each.distance for reading, each in zip(readings, beginnings, strict=False) if reading.line == attempt.line]
    if not own:
        return None
    nearest, reading = min(zip(beginnings, readings, strict=True), key=lambda pair: pair[0].distance)
    as_heard = wording.row_likeness(heard, reading.texts[: len(heard)]) >= LIKE
    if nearest.distance > (NEARER_HEARD if as_heard else NEARER) * min(own):
        return None
    count = max(1, reading.words_before(reading.span.start_ms + nearest.length_ms))
    return Candidate(reading.line, count, attempt.span) if count < len(reading.words) else None
