"""Words that fill a pause: an "um" before a line sounds much like the "the" that it may begin with; one inside it is no
word said twice."""

from __future__ import annotations

from collections.abc import Sequence

from lessoncut import wording
from lessoncut.hearing.records import HeardWord
from lessoncut.matching.attempts import Attempt, Unscripted
from lessoncut.matching.ground import Ground, said

FILLERS = ("uh", "um", "ah", "er")
ARTICLES = frozenset(("a", "an", "the"))
BETTER = 1.5
"""How much better, in mean score, a filler must lie on the sound than the article, or what was heard than the start."""
SURE, LIKE = 0.5, 0.5
"""From where on a word that was heard there speaks; and up to where it is another than the line's first one."""
UNREAD_FILLER, UNREAD = 0.4, 0.12
"""Three chairs were heard "Uh..." with less in 137 takes of known truth, two laughs "Uh, uh.", and nothing else; and a
word by itself with less is none that anybody could tell."""


def without_fillers(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts without starts of an article alone that is rather a filler, and without those in whose place another
    word was heard and lies better; and the talk, with those."""
    heard = {attempt: _heard_in(ground, attempt) for attempt in attempts if not attempt.full}
    rivals = {attempt: _rivals(attempt, words) for attempt, words in heard.items()}
    rows = {attempt: [attempt.texts, *others] for attempt, others in rivals.items() if others}
    requests = [ground.request_heard(row, attempt.span) for attempt, mine in rows.items() for row in mine]
    answers = iter(ground.align(requests) if requests else ())
    scores = {attempt: [next(answers).mean_score for _ in mine] for attempt, mine in rows.items()}
    fillers = [attempt for attempt, (own, *others) in scores.items() if max(others) >= own + BETTER]
    talk = [Unscripted(attempt.span, heard[attempt]) for attempt in fillers]
    return [each for each in attempts if each not in fillers], sorted([*left, *talk], key=lambda each: each.span)


def _heard_in(ground: Ground, attempt: Attempt) -> tuple[HeardWord, ...]:
    """The words heard in the start, of which it may be none."""
    return tuple(word for word in ground.heard_near(attempt.span) if word.span.overlap_ms(attempt.span))


def _rivals(start: Attempt, heard: Sequence[HeardWord]) -> list[tuple[str, ...]]:
    """What may have been said there instead of the start."""
    others = said(heard)
    rivals = [others] if others else []
    if start.texts[0] in ARTICLES and len(start.texts) == 1 and start.texts not in (said(start.heard), others):
        return [*((word,) for word in FILLERS), *rivals]
    sure = any(word.probability >= SURE for word in heard)
    if not others or not sure or start.heard:
        return []
    return rivals if wording.likeness(others[0], start.texts[0]) < LIKE else []


def fills_a_pause(attempt: Attempt) -> bool:
    """Whether a filler was heard in the reading, which the script lacks."""
    return any(word in FILLERS and word not in attempt.texts for word in said(attempt.heard))


def words_read(talk: Unscripted) -> tuple[str, ...]:
    """The words of talk as they were heard; none where that is but a filler, or one word, so doubtful that it is rather
    a sound: a chair is heard "Uh...", too."""
    least = min((word.probability for word in talk.words), default=1.0)
    filler = all(word in FILLERS for word in said(talk.words)) and least < UNREAD_FILLER
    unread = len(talk.words) == 1 and least < UNREAD
    return () if filler or unread else tuple(word.text for word in talk.words)
