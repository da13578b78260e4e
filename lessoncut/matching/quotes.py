"""A line that is quoted: "Remember, the ship sailed at noon is how it goes." is talk in one breath, about the line; so
is "The ship sailed at noon if you believe that." behind it; and a word that begins talk: "No, from the top of that
line." is not the line "No?", nor "Sorry," a start of another."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from lessoncut.matching.attempts import DOUBTFUL, Attempt, Unscripted
from lessoncut.matching.ground import Ground, said, surely_heard
from lessoncut.matching.slips import CORRECTIONS
from lessoncut.times import Span

FEWEST_BEFORE, FEWEST_BEHIND, SURE = 1, 2, 0.6
"""So many words must have been heard on either side, so surely: "okay" before a line, or "good" behind it, is none."""
PAUSE_MS = 90
"""So long a pause beside the line parts it from the talk."""
ROUGHLY_MS = 150
"""How far from the line's edge the pause may be."""
MOST_WORDS, COMMA_MS, FEWEST_FOLLOWING = 2, 400, 3
"""A line of so few words is the beginning of talk where so much follows so soon, and she goes back; or one of any
length where she has just read it, and it follows in the same breath: "How odd, just two words."."""
_ENDS = (".", "?", "!")
MOST_BEGUN, RUNNING_ON_MS, MANY_FOLLOWING = 3, 120, 4
"""A doubtful start of so few words is the beginning of talk, too, where so much follows without a pause."""


def with_quotes_apart(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts in time order without those in the midst of talk that are read elsewhere; and the talk."""
    read = Counter(attempt.line for attempt in attempts if attempt.full)
    talks: dict[Attempt, Unscripted] = {}
    for before, attempt, after in zip([None, *attempts], attempts, [*attempts[1:], None], strict=False):
        elsewhere = read[attempt.line] - attempt.full
        if attempt.laid and elsewhere and (talk := _talk_of(ground, attempt, (before, after), left)):
            talks[attempt] = talk
    parted = [each for each in left if not any(each.span.overlap_ms(talk.span) for talk in talks.values())]
    return [each for each in attempts if each not in talks], sorted([*parted, *talks.values()], key=lambda e: e.span)


def _talk_of(
    ground: Ground, attempt: Attempt, beside: tuple[Attempt | None, Attempt | None], left: Sequence[Unscripted]
) -> Unscripted | None:
    """The talk that the attempt is part of."""
    if not attempt.full:
        return _exclaimed(attempt, beside, left) or _running_on(attempt, left)
    return (
        _quoting(ground, attempt, [each for each in beside if each])
        or _begun(ground, attempt, beside, left)
        or _announcing(ground, attempt, beside)
    )


def _quoting(ground: Ground, attempt: Attempt, beside: Sequence[Attempt]) -> Unscripted | None:
    """The talk around the attempt, if there is enough on both sides, said by nobody's lines and without a pause."""
    breath = ground.speech(attempt.span)
    if len(breath) != 1 or any(other.span.overlap_ms(breath[0]) for other in beside):
        return None
    words = ground.heard_inside(breath[0])
    others = [word for word in words if word not in attempt.heard]
    before = [word for word in others if word.span.middle_ms < attempt.words[0].span.middle_ms]
    behind = [word for word in others if word.span.middle_ms > attempt.words[-1].span.middle_ms]
    enough = surely_heard(before, FEWEST_BEFORE, SURE) and surely_heard(behind, FEWEST_BEHIND, SURE)
    parted = any(_is_paused(ground, breath[0], edge_ms) for edge_ms in (attempt.span.start_ms, attempt.span.end_ms))
    return Unscripted(breath[0], tuple(words)) if enough and not parted else None


def _announcing(ground: Ground, attempt: Attempt, beside: tuple[Attempt | None, Attempt | None]) -> Unscripted | None:
    """The talk whose sentence ends in a line, with other words, that is read right after: "I left out the one about
    nobody being hurt." "Nobody was hurt."."""
    before, after = beside
    breath = ground.speech(attempt.span)
    read_next = after is not None and after.full and after.line == attempt.line
    alone = len(breath) == 1 and not (before and before.span.overlap_ms(breath[0]))
    if not (read_next and alone) or said(attempt.heard) == attempt.texts:
        return None
    talk = [word for word in ground.heard_inside(breath[0]) if word.span.middle_ms < attempt.span.start_ms]
    goes_on = surely_heard(talk[-MANY_FOLLOWING:], MANY_FOLLOWING, SURE) and talk[-1].text[-1:].isalnum()
    if not goes_on or _is_paused(ground, breath[0], attempt.span.start_ms):
        return None
    return Unscripted(Span(breath[0].start_ms, attempt.span.end_ms), (*talk, *attempt.heard))


def _begun(
    ground: Ground, attempt: Attempt, beside: tuple[Attempt | None, Attempt | None], left: Sequence[Unscripted]
) -> Unscripted | None:
    """The talk that the attempt begins, if she goes back behind it, or has just read it."""
    before, after = beside
    goes_back = after is not None and after.line < attempt.line and len(attempt.texts) <= MOST_WORDS
    just_read = before is not None and before.full and before.line == attempt.line and not _is_ended(attempt)
    if not (goes_back or just_read) or (talk := _following(attempt, left)) is None:
        return None
    all_sure = goes_back and surely_heard(talk.words, FEWEST_FOLLOWING, SURE)
    if not (all_sure or (just_read and _in_one_breath(ground, attempt, talk))):
        return None
    return _with_talk(attempt, talk)


def _is_ended(attempt: Attempt) -> bool:
    """Whether all of a longer line was heard, and its end as that of a sentence."""
    whole = said(attempt.heard) == attempt.texts and len(attempt.texts) > MOST_WORDS
    return whole and attempt.heard[-1].text.endswith(_ENDS)


def _exclaimed(
    attempt: Attempt, beside: tuple[Attempt | None, Attempt | None], left: Sequence[Unscripted]
) -> Unscripted | None:
    """The talk that a start begins which stands between attempts at another line: "Sorry," and "one more time."; or
    which is a word of correction: "No," and "sorry."."""
    before, after = beside
    astray = before and after and before.line == after.line != attempt.line
    corrects = len(attempt.texts) == 1 and attempt.texts[0] in CORRECTIONS
    if len(attempt.texts) > MOST_WORDS or not (astray or corrects):
        return None
    talk = _following(attempt, left, fewest=1 if corrects else FEWEST_FOLLOWING)
    return _with_talk(attempt, talk) if talk else None


def _running_on(attempt: Attempt, left: Sequence[Unscripted]) -> Unscripted | None:
    """The talk that a doubtful start runs into as if it were its first words: who breaks off pauses."""
    if attempt.doubt <= DOUBTFUL or len(attempt.texts) > MOST_BEGUN:
        return None
    talk = _following(attempt, left, RUNNING_ON_MS, MANY_FOLLOWING)
    return _with_talk(attempt, talk) if talk else None


def _with_talk(attempt: Attempt, talk: Unscripted) -> Unscripted:
    return Unscripted(attempt.span.hull(talk.span), (*attempt.heard, *talk.words))


def _following(
    attempt: Attempt, left: Sequence[Unscripted], within_ms: int = COMMA_MS, fewest: int = FEWEST_FOLLOWING
) -> Unscripted | None:
    """The talk of enough words that stands close behind it."""
    close = (talk for talk in left if 0 <= talk.span.start_ms - attempt.span.end_ms < within_ms)
    return next((talk for talk in close if _sure_words(talk) >= fewest), None)


def _sure_words(talk: Unscripted) -> int:
    return sum(word.probability >= SURE for word in talk.words)


def _in_one_breath(ground: Ground, attempt: Attempt, talk: Unscripted) -> bool:
    breath = ground.speech(attempt.span)
    runs_on = len(breath) == 1 and breath[0].overlap_ms(talk.span) > 0
    return runs_on and not _is_paused(ground, breath[0], attempt.span.end_ms)


def _is_paused(ground: Ground, breath: Span, edge_ms: int) -> bool:
    beside = Span(edge_ms - ROUGHLY_MS, edge_ms + ROUGHLY_MS)
    return any(hole.overlap_ms(beside) and hole.length_ms >= PAUSE_MS for hole in ground.holes(breath))
