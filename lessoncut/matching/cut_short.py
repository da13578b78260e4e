"""Starts that were taken for all of their line: of "a spoonful of lem" a recogniser makes "a spoonful of lemon", and of
"have a lovely", and a "no" behind it, all of "have a lovely day". Laid on the other readings of their line, they lack
its end."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import takewhile

from lessoncut import wording
from lessoncut.matching.attempts import Attempt, Unscripted, readings_of
from lessoncut.matching.ground import Ground, said
from lessoncut.matching.records import Change
from lessoncut.matching.talk import with_more_talk
from lessoncut.times import Span

LACKING_MS, LACKING_CHANGED_MS = 140, 400
"""So much of each other reading's end is lacked; and where the line was heard to end in another word. Of 98 readings of
known truth that are read again none lacks more than 100."""
LACKING_UNHEARD_MS, HEARD = 100, 0.8
"""The same where its last word was not heard, or as one that is less like it and not believed, of the words as they
were laid alone: another sound may stand behind them."""
LACKING_SURE_MS, SURE = 250, 0.9
"""The same where its last word was heard, and so surely: of 302 such readings that are read again one was broken off,
and lacks nothing; another lacks 150."""
ALIKE_LETTERS = 2
"""Another word that begins in so many of the same letters is the line's own, broken off: "rid" of "rich"."""
LIKE = 0.5
"""What was heard behind a pause with less likeness to each of the line's last words is none of them."""


def with_starts_cut_short(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts in time order, those that lack their line's end, and are begun anew, being starts; and the talk,
    with what was taken for that end."""
    parts = [part.span for row in (attempts, left) for part in row]
    found, talk = list(attempts), list(left)
    for at, attempt in enumerate(attempts):
        anew = _anew(attempts, at)
        if not (attempt.full and len(attempt.words) > 1 and anew):
            continue
        own, behind = _heard_apart(ground, attempt) or (_alone(ground, parts, attempt.span), None)
        readings = [each.span for each in readings_of(attempt.line, attempts, attempt)]
        if behind and any(_holds_all(ground, each, attempt.span) for each in readings):
            continue
        others = (other for each in readings for other in (each, _alone(ground, parts, each)))
        least_ms = _least_ms(attempt, behind)
        unheard = least_ms <= LACKING_MS and not (_last_was_heard(attempt) or _end_changes(attempt))
        if _lacks_the_end(ground, own, others, least_ms) or (
            unheard and _lacks_the_end(ground, attempt.span, readings, LACKING_UNHEARD_MS)
        ):
            begun = _begun(ground, own, _alone(ground, parts, anew.span), anew)
            begun = min(begun, wording.first_alike(attempt.texts, anew.texts))
            found[at] = _start(replace(attempt, line=anew.line), begun, own, behind)
            talk = with_more_talk(talk, behind) if behind else talk
    return found, talk


def _anew(attempts: Sequence[Attempt], at: int) -> Attempt | None:
    """The reading right behind that begins the line anew, or behind other starts of it; or the one behind the line
    before it, where that had not been read: she began the next one by mistake; or, where the line was read right
    before, that of another one that begins in the same words."""
    line, before = attempts[at].line, attempts[:at][-1:]
    starts = sum(1 for _ in takewhile(lambda each: not each.full and each.line == line, attempts[at + 1 :]))
    behind = attempts[at + 1 + starts : at + 3 + starts]
    if behind and behind[0].full and behind[0].line == line:
        return behind[0]
    again = any(each.full and each.line == line for each in before)
    following = next((each for each in behind if each.full), None)
    if again and following and attempts[at].texts[0] == following.texts[0]:
        return following
    skipped = len(behind) > 1 and behind[0].full and behind[0].line == line - 1
    if not skipped or any(each.line == line - 1 for each in before):
        return None
    return behind[1] if behind[1].full and behind[1].line == line else None


def _heard_apart(ground: Ground, attempt: Attempt) -> tuple[Span, Unscripted] | None:
    """The attempt's sound up to the first pause behind which nothing of its line was heard, and what was."""
    for hole in ground.holes(attempt.span):
        heard = tuple(word for word in attempt.heard if word.span.middle_ms > hole.middle_ms)
        texts = tuple(word.text for word in attempt.words if word.span.middle_ms > hole.middle_ms)
        alike = any(wording.likeness(word, text) >= LIKE for word in said(heard) for text in texts)
        if heard and 0 < len(texts) < len(attempt.words) and not alike:
            behind = Span(hole.end_ms, max(attempt.span.end_ms, heard[-1].span.end_ms))
            return Span(attempt.span.start_ms, hole.start_ms), Unscripted(behind, heard)
    return None


def _last_was_heard(attempt: Attempt) -> bool:
    heard = said(attempt.heard)
    return not heard or wording.likeness(heard[-1], attempt.texts[-1]) >= HEARD


def _last_was_surely_heard(attempt: Attempt) -> bool:
    return (
        bool(attempt.heard) and attempt.heard[-1].probability >= SURE and said(attempt.heard)[-1:] == attempt.texts[-1:]
    )


def _lacks_the_end(ground: Ground, own: Span, others: Iterable[Span], least_ms: int) -> bool:
    """Whether it lacks so much of the end of each; hardly more than one is asked about."""
    return all(ground.lacks_end(own, other, least_ms) for other in others)


def _holds_all(ground: Ground, reading: Span, span: Span) -> bool:
    """Whether the reading holds all that the span does: no talk stands behind its line."""
    likeness = ground.compare(reading, span)
    return likeness is not None and likeness.lacking_ms < LACKING_MS


def _begun(ground: Ground, own: Span, whole: Span, anew: Attempt) -> int:
    """In how many of its words it breaks off. ``whole``: all the sound of the line begun anew."""
    again = ground.compare(own, whole)
    begun = anew.words_before(anew.span.end_ms - (again.lacking_ms if again else 0))
    return min(max(1, begun), len(anew.words) - 1)


def _alone(ground: Ground, parts: Sequence[Span], span: Span) -> Span:
    """The span with all of the speech that it stands in, but where that holds other parts beside it."""
    wide = ground.with_speech(span)
    before = any(wide.start_ms < part.end_ms <= span.start_ms for part in parts)
    behind = any(span.end_ms <= part.start_ms < wide.end_ms for part in parts)
    return Span(span.start_ms if before else wide.start_ms, span.end_ms if behind else wide.end_ms)


def _end_changes(attempt: Attempt) -> list[Change]:
    """What was heard for its last word, and believed."""
    return [change for change in attempt.changes if change.last + 1 == len(attempt.words)]


def _least_ms(attempt: Attempt, behind: Unscripted | None) -> int:
    """How much must be lacked, by what was heard of the line's end."""
    ends = _end_changes(attempt)
    if behind or not ends:
        return LACKING_SURE_MS if not behind and _last_was_surely_heard(attempt) else LACKING_MS
    heard, last = ends[0].heard[-1:] or ("",), attempt.texts[-1]
    return LACKING_MS if heard[-1][:ALIKE_LETTERS] == last[:ALIKE_LETTERS] else LACKING_CHANGED_MS


def _start(attempt: Attempt, begun: int, own: Span, behind: Unscripted | None) -> Attempt:
    """The words in which it breaks off, the last of which goes on up to its end."""
    *words, last = attempt.words[:begun]
    end_ms = own.end_ms if behind else attempt.span.end_ms
    last = replace(last, span=Span(last.span.start_ms, max(end_ms, last.span.start_ms + 1)))
    heard = tuple(word for word in attempt.heard if not (behind and word in behind.words))
    return replace(attempt, full=False, upto=begun, words=(*words, last), heard=heard, changes=())
