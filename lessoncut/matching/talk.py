"""Talk that was taken for a line's end: "Was that a yes, or, no, no, again." lasts as long as the whole line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from lessoncut import wording
from lessoncut.hearing.records import Alignment, HeardWord
from lessoncut.matching.attempts import Attempt, Unscripted
from lessoncut.matching.follow import PAUSE_MS
from lessoncut.matching.ground import RUNS_ON_MS, Ground, said
from lessoncut.matching.lay import Candidate
from lessoncut.times import Span

FEWEST, SURE, UNLIKE = 3, 0.8, 0.4
"""So many words must have been heard behind a pause, each so surely, and be no more like the line's own ones."""
SOMEWHAT_LIKE, FAR_BETTER = 0.65, 15.0
"""Up to where they may be like these that lie so much better, behind a shorter pause, too: "oh bother, again" for "my
other coat"."""


def with_talk_apart(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts in time order, those being starts whose end was surely heard as other words, which lie better on the
    sound than its own; and the talk, with those words."""
    found = {attempt: end for attempt in attempts if (end := _other_end(ground, attempt))}
    ends = {attempt: talk for attempt, (talk, _) in found.items()}
    wholes = {attempt: Candidate(attempt.line, attempt.upto, attempt.span) for attempt in ends}
    answers = ground.ask(list(wholes.values()))
    heard = ground.align([ground.request_heard(said(talk.words), talk.span) for talk in ends.values()]) if ends else ()
    talked = {
        attempt: (_start(attempt, talk), talk)
        for (attempt, talk), other in zip(ends.items(), heard, strict=True)
        if other.mean_score > _end_score(answers[wholes[attempt]], _before(attempt, talk)) + found[attempt][1]
    }
    starts = [talked[attempt][0] if attempt in talked else attempt for attempt in attempts]
    return starts, sorted([*left, *(talk for _, talk in talked.values())], key=lambda talk: talk.span)


def _other_end(ground: Ground, attempt: Attempt) -> tuple[Unscripted, float] | None:
    """What stands behind the first pause behind which other words were heard, and how much better these must lie."""
    if not (attempt.full and attempt.laid):
        return None
    for hole in ground.holes(attempt.span):
        behind = tuple(word for word in attempt.heard if word.span.middle_ms > hole.middle_ms)
        talk = Unscripted(Span(hole.end_ms, attempt.span.end_ms), behind)
        before = _before(attempt, talk)
        if before and _are_sure(behind) and (own := attempt.texts[before:]):
            like = wording.row_likeness(said(behind), own)
            if hole.length_ms >= RUNS_ON_MS and like <= UNLIKE:
                return talk, 0.0
            if hole.length_ms >= PAUSE_MS and like <= SOMEWHAT_LIKE:
                return talk, FAR_BETTER
    return None


def _are_sure(heard: Sequence[HeardWord]) -> bool:
    return len(said(heard)) >= FEWEST and all(word.probability >= SURE for word in heard)


def _before(attempt: Attempt, talk: Unscripted) -> int:
    """How many of the line's words stand before the talk."""
    return sum(word.span.middle_ms < talk.span.start_ms for word in attempt.words)


def _start(attempt: Attempt, talk: Unscripted) -> Attempt:
    upto = _before(attempt, talk)
    heard = tuple(word for word in attempt.heard if word not in talk.words)
    return replace(attempt, full=False, upto=upto, words=attempt.words[:upto], heard=heard, changes=())


def _end_score(whole: Alignment, first: int) -> float:
    return Alignment(whole.request, whole.words[first:]).mean_score
