"""Talk said in one breath with a line, and taken for its end: "Push it. That'll do." Laid on the line's other readings,
it is left over."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from lessoncut import wording
from lessoncut.hearing.records import HeardWord
from lessoncut.matching.attempts import Attempt, Unscripted, readings_of
from lessoncut.matching.ground import Ground, said
from lessoncut.matching.lay import Candidate
from lessoncut.matching.lines import laid_anyway
from lessoncut.matching.talk import with_more_talk
from lessoncut.times import Span

LEFT_OVER_MS = 200
"""So much of its end is left over by each other reading: of 3,325 readings where they should be two in a hundred leave
more than 60, and nearly all that leave so much end in another word than the line does."""
LIKE = 0.7
"""How like the line what was heard before that must be; and no less so than all that was heard."""
SLOWER = 0.8
"""Only a reading that is no shorter than this of another can have so much left over."""


def with_talk_behind(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts in time order without the talk that was taken for their end; and all the talk."""
    ends = {at: end for at, attempt in enumerate(attempts) if (end := _left_over(ground, attempts, attempt))}
    looks = {at: _line_before(attempts[at], end) for at, end in ends.items()}
    answers = ground.ask(list(looks.values()))
    found, talk = list(attempts), list(left)
    for at, look in looks.items():
        heard = ground.heard_inside(look.stretch)
        whole = laid_anyway(ground, look, answers[look], heard, attempts[at].doubt)
        words = tuple(replace(word, span=word.span.clipped(look.stretch)) for word in whole.words)
        found[at] = replace(whole, words=words)
        others = {word for other in (*attempts[:at], *attempts[at + 1 :]) for word in other.heard}
        own = tuple(word for word in ends[at].words if word not in others)
        talk = with_more_talk(talk, replace(ends[at], words=own)) if own else talk
    return found, talk


def _line_before(attempt: Attempt, end: Unscripted) -> Candidate:
    return Candidate(attempt.line, attempt.upto, Span(attempt.span.start_ms, end.span.start_ms))


def _left_over(ground: Ground, attempts: Sequence[Attempt], attempt: Attempt) -> Unscripted | None:
    """What was heard in that end of the reading which all others of its line leave over, where it is none of it."""
    if not attempt.full or attempt.changes:
        return None
    others = [each.span for each in readings_of(attempt.line, attempts, attempt)]
    if not others or any(attempt.span.length_ms < SLOWER * other.length_ms + LEFT_OVER_MS for other in others):
        return None
    likenesses = [ground.compare(other, attempt.span) for other in others]
    left_ms = min(each.lacking_ms if each else 0 for each in likenesses)
    if left_ms < LEFT_OVER_MS:
        return None
    own = Span(attempt.span.start_ms, attempt.span.end_ms - left_ms)
    before, behind = ground.heard_inside(own), ground.heard_inside(Span(own.end_ms, attempt.span.end_ms))
    like = wording.row_likeness(said(before), attempt.texts)
    if not behind or like < LIKE or like < wording.row_likeness(said((*before, *behind)), attempt.texts):
        return None
    if _in_its_place(ground, attempt, before, behind):
        return None
    return Unscripted(Span(own.end_ms, attempt.span.end_ms), behind)


def _in_its_place(ground: Ground, attempt: Attempt, before: Sequence[HeardWord], behind: Sequence[HeardWord]) -> bool:
    """Whether what was heard behind stands, in one go and in no more words, for last ones that were not heard before:
    the line was misread."""
    lacking = len(attempt.texts) - len(said(before))
    between = Span(before[-1].span.middle_ms, behind[0].span.middle_ms) if before else attempt.span
    return len(said(behind)) <= lacking and not ground.holes(between)
