"""Starts that were talk: by its sound "Right." may pass for the "Rita" that a line begins with, but the recogniser,
asked about the line's own words, finds them far less likely than what it heard. So may a laugh, for a whole line."""

from __future__ import annotations

from collections.abc import Sequence

from lessoncut import wording
from lessoncut.hearing.records import HeardWord
from lessoncut.matching.attempts import Attempt, Unscripted, heard_text
from lessoncut.matching.ground import Ground, said, surely_heard
from lessoncut.matching.lay import Candidate

MOST_ALIKE, MOST_ALIKE_WHOLE = 0.55, 0.2
"""What was heard with more likeness to the start's words was that start, however it broke off; and to a line's."""
MOST_ALIKE_SURE, SURE, LESS_LIKELY_LIKE = 0.8, 0.9, 12.0
"""The same of a start where each word was heard so surely, and how much less likely its own must be then: "once more"
for "one for"."""
LEAST_DOUBT = 2.0
"""Of a whole line; one that is less doubted may be heard as anything."""
MOST_LASTS = 1.5
"""How long another beginning may last at most, of the time that its words take."""
LESS_LIKELY, LESS_LIKELY_WHOLE = 6.0, 12.0
"""How much less likely than what was heard, in natural logarithms, the line's words must be; and all of them."""


def with_talk_for_starts(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts without the starts, and the doubtful lines, whose words are far less likely than what was heard; and
    the talk with these."""
    likely = [
        (start, Unscripted(start.span, heard), by)
        for start in attempts
        if (by := _less_likely(start, heard := start.heard or ground.heard_inside(start.span))) is not None
    ]
    asked = [
        ground.wordings(start.span, heard_text(talk), *map(ground.written, _beginnings(ground, start, talk)))
        for start, talk, _ in likely
    ]
    unlikely: dict[Attempt, Unscripted] = {}
    for (start, talk, by), answer in zip(likely, ground.weigh(asked), strict=True):
        if answer.logs:
            as_heard, *logs = answer.logs
            if max(logs) < as_heard - by:
                unlikely[start] = talk
    kept = [attempt for attempt in attempts if attempt not in unlikely]
    return kept, sorted([*left, *unlikely.values()], key=lambda each: each.span)


def _less_likely(start: Attempt, heard: Sequence[HeardWord]) -> float | None:
    """How much less likely the words of the start, or line, must be for it to be talk; None where it is what was heard,
    more or less."""
    texts = said(heard)
    if not texts or (start.full and start.doubt < LEAST_DOUBT):
        return None
    likeness = wording.row_likeness(texts, start.texts)
    if start.full:
        return LESS_LIKELY_WHOLE if likeness <= MOST_ALIKE_WHOLE else None
    if likeness <= MOST_ALIKE:
        return LESS_LIKELY
    return LESS_LIKELY_LIKE if likeness <= MOST_ALIKE_SURE and surely_heard(heard, 1, SURE) else None


def _beginnings(ground: Ground, start: Attempt, talk: Unscripted) -> list[Candidate]:
    """Of the start's line, the start's own words and all others that are long enough for what was heard."""
    own = Candidate(start.line, start.upto, start.span)
    if start.full:
        return [own]
    like = ground.beginnings_like(start.line, start.span, talk.words)
    return [own, *(each for each in like if each != own and ground.lasts(each) < MOST_LASTS)]
