"""Words that fill a pause: an "um" before a line sounds much like the "the" that it may begin with; one inside it is no
word said twice."""

from __future__ import annotations

from collections.abc import Sequence

from lessoncut.matching.attempts import Attempt, Unscripted
from lessoncut.matching.ground import Ground, said

FILLERS = ("uh", "um", "ah", "er")
ARTICLES = frozenset(("a", "an", "the"))
BETTER = 1.5
"""How much better, in mean score, a filler must lie on the sound than the article."""


def without_fillers(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts without starts of an article alone that is rather a filler, or the other word that was heard there;
    and the talk, with those."""
    likely = [attempt for attempt in attempts if _may_be_filler(attempt)]
    rows = [[each.texts, *((word,) for word in FILLERS), *filter(None, [said(each.heard)])] for each in likely]
    requests = [
        ground.request_heard(row, attempt.span) for attempt, mine in zip(likely, rows, strict=True) for row in mine
    ]
    answers = iter(ground.align(requests) if requests else ())
    scores = {attempt: [next(answers).mean_score for _ in mine] for attempt, mine in zip(likely, rows, strict=True)}
    fillers = [attempt for attempt, (own, *others) in scores.items() if max(others) >= own + BETTER]
    talk = [Unscripted(attempt.span, attempt.heard) for attempt in fillers]
    return [each for each in attempts if each not in fillers], sorted([*left, *talk], key=lambda each: each.span)


def fills_a_pause(attempt: Attempt) -> bool:
    """Whether a filler was heard in the reading, which the script lacks."""
    return any(word in FILLERS and word not in attempt.texts for word in said(attempt.heard))


def _may_be_filler(attempt: Attempt) -> bool:
    article = not attempt.full and len(attempt.texts) == 1 and attempt.texts[0] in ARTICLES
    return article and said(attempt.heard) != attempt.texts
