"""Talk that was taken for a line's end: "Was that a yes, or, no, no, again." lasts as long as the whole line."""

from __future__ import annotations

from collections.abc import Sequence, Set
from dataclasses import dataclass, replace

from lessoncut import wording
from lessoncut.hearing.records import Alignment, HeardWord
from lessoncut.matching.attempts import Attempt, Unscripted
from lessoncut.matching.follow import PAUSE_MS
from lessoncut.matching.ground import EDGE_MS, RUNS_ON_MS, Ground, said, surely_heard
from lessoncut.matching.lay import Candidate
from lessoncut.times import Span, SpanIndex, merged

FEWEST, SURE, UNLIKE = 3, 0.8, 0.4
"""So many words must have been heard behind a pause, each so surely, and be no more like the line's own ones."""
SOMEWHAT_LIKE, FAR_BETTER = 0.65, 15.0
"""Up to where they may be like these that lie so much better, behind a shorter pause, too: "oh bother, again" for "my
other coat"."""
BETTER_IN_ALL = 1000.0
"""How much better talk must fit that goes on behind the line, summed over the frames of all of it."""
MOSTLY = 0.8
"""Of talk that is read."""


@dataclass(frozen=True)
class _End:
    """What was heard in the place of a line's end, and by how much it must lie better, as a score a frame; ``further``:
    it goes on behind what was taken for the line, so that all of its sound counts."""

    talk: Unscripted
    better: float
    further: bool = False


def with_talk_apart(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts in time order, those being starts whose end was surely heard as other words, which lie better on the
    sound than its own; and the talk, with those words."""
    theirs = {word for attempt in attempts for word in attempt.heard}
    ends = {attempt: end for attempt in attempts if (end := _other_end(ground, attempt, theirs))}
    wholes = {attempt: Candidate(attempt.line, attempt.upto, attempt.span) for attempt in ends}
    answers = ground.ask(list(wholes.values()))
    requests = [ground.request_heard(said(end.talk.words), end.talk.span) for end in ends.values()]
    heard = ground.align(requests) if requests else ()
    talked = {
        attempt: (_start(attempt, end.talk), end.talk)
        for (attempt, end), other in zip(ends.items(), heard, strict=True)
        if _lies_better(ground, end, other, answers[wholes[attempt]], _before(attempt, end.talk))
    }
    starts = [talked[attempt][0] if attempt in talked else attempt for attempt in attempts]
    talks = [talk for _, talk in talked.values()]
    others = [each for each in left if not any(each.span.overlap_ms(talk.span) for talk in talks)]
    return starts, sorted([*others, *talks], key=lambda talk: talk.span)


def _lies_better(ground: Ground, end: _End, other: Alignment, whole: Alignment, before: int) -> bool:
    own = Alignment(whole.request, whole.words[before:])
    if not end.further:
        return other.mean_score > own.mean_score + end.better
    return ground.fit(end.talk.span, other) > ground.fit(end.talk.span, own) + BETTER_IN_ALL


def _other_end(ground: Ground, attempt: Attempt, theirs: Set[HeardWord]) -> _End | None:
    """What stands behind the first pause behind which other words were heard; ``theirs`` are those of all attempts."""
    if not (attempt.full and attempt.laid):
        return None
    for hole in ground.holes(attempt.span):
        behind = tuple(word for word in attempt.heard if word.span.middle_ms > hole.middle_ms)
        talk = Unscripted(Span(hole.end_ms, attempt.span.end_ms), behind)
        before = _before(attempt, talk)
        if before and surely_heard(behind, FEWEST, SURE) and (own := attempt.texts[before:]):
            like = wording.row_likeness(said(behind), own)
            if hole.length_ms >= RUNS_ON_MS and like <= UNLIKE:
                goes_on = _further(ground, talk, theirs)
                return _End(goes_on or talk, 0.0, further=goes_on is not None)
            if hole.length_ms >= PAUSE_MS and like <= SOMEWHAT_LIKE:
                return _End(talk, FAR_BETTER)
    return None


def _further(ground: Ground, talk: Unscripted, theirs: Set[HeardWord]) -> Unscripted | None:
    """The talk with the words that are surely heard behind it in one breath, if there are such and no attempt's."""
    ends_ms = [speech.end_ms for speech in ground.speech(Span(talk.span.end_ms - EDGE_MS, talk.span.end_ms))]
    behind = Span(talk.span.end_ms, max([talk.span.end_ms, *ends_ms]))
    more = [w for w in ground.heard_near(behind) if w.span.middle_ms > behind.start_ms and w not in talk.words]
    if not surely_heard(more, 1, SURE) or any(word in theirs for word in more):
        return None
    return Unscripted(talk.span.hull(behind), (*talk.words, *more))


def _before(attempt: Attempt, talk: Unscripted) -> int:
    """How many of the line's words stand before the talk."""
    return attempt.words_before(talk.span.start_ms)


def _start(attempt: Attempt, talk: Unscripted) -> Attempt:
    upto = _before(attempt, talk)
    heard = tuple(word for word in attempt.heard if word not in talk.words)
    return replace(attempt, full=False, upto=upto, words=attempt.words[:upto], heard=heard, changes=())


def with_more_talk(left: Sequence[Unscripted], more: Unscripted) -> list[Unscripted]:
    """The talk, in time order, with this, which what runs on from it is more of."""
    rest = []
    for talk in left:
        if 0 <= talk.span.start_ms - more.span.end_ms < EDGE_MS:
            more = Unscripted(more.span.hull(talk.span), (*more.words, *talk.words))
        else:
            rest.append(talk)
    return sorted([*rest, more], key=lambda talk: talk.span)


def parted(ground: Ground, talk: Unscripted, at: int) -> tuple[Unscripted, Unscripted]:
    """The talk up to that of its words, and from it on: where the longest pause between the two is, if there is any."""
    if not 0 < at < len(talk.words):
        edge_ms = talk.span.end_ms if at else talk.span.start_ms
        nothing = Unscripted(Span(edge_ms, edge_ms), ())
        return (talk, nothing) if at else (nothing, talk)
    before, behind = talk.words[at - 1].span, talk.words[at].span
    holes = ground.holes(Span(before.middle_ms, max(before.middle_ms, behind.middle_ms)))
    start_ms = min(behind.start_ms, talk.span.end_ms)
    hole = max(holes, key=lambda each: each.length_ms, default=Span(start_ms, start_ms))
    return (
        Unscripted(Span(talk.span.start_ms, max(talk.span.start_ms, hole.start_ms)), talk.words[:at]),
        Unscripted(Span(hole.end_ms, max(hole.end_ms, talk.span.end_ms)), talk.words[at:]),
    )


def not_read(left: Sequence[Unscripted], attempts: Sequence[Attempt]) -> list[Unscripted]:
    """The talk that is no part of an attempt: a word may be given twice, or late."""
    read = SpanIndex(merged(attempt.span for attempt in attempts))
    return [talk for talk in left if read.overlap_ms(talk.span) < MOSTLY * talk.span.length_ms]
