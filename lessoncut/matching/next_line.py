"""Starts of the line that is read next: many lines begin in the same words, and some are the beginning of another, as
"Don't hurry." of "Don't hurry, there's time."."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import zip_longest

from lessoncut import wording
from lessoncut.matching.attempts import Attempt
from lessoncut.matching.ground import Ground
from lessoncut.matching.likelier import readings_beside, wider
from lessoncut.times import Span

LEAST_LETTERS = 2
"""Of a word that broke off."""
NEARER, SOON_MS = 0.75, 1200
"""Of the pause before a line said again, the one behind it, where it is the beginning of the next; and how long that
may be: who breaks off does not wait for learners."""
CLEARLY = 0.8
"""Of how far it is from the line's other readings it is from the next one's beginning, where the sound tells: one start
is so by 0.39, of eleven lines said again one by 0.96 and the others by 1.02 and more."""
GOES_ON_MS = 250
"""The others lack so much of the end of a reading that runs on: of 282 that do not, 140 at most."""


def of_what_follows(ground: Ground, attempts: Sequence[Attempt]) -> list[Attempt]:
    """The attempts, each broken-off start being of the line read next, where that begins in the same words."""
    found: list[Attempt] = []
    for attempt in reversed(attempts):
        if found and not attempt.full and _begins_alike(ground.spoken_words[found[-1].line], attempt.texts):
            found.append(replace(attempt, line=found[-1].line))
        else:
            found.append(attempt)
    return found[::-1]


def with_lines_that_begin_the_next(ground: Ground, attempts: Sequence[Attempt]) -> list[Attempt]:
    """The attempts, which are all hers, a line read again being a start of the next one that begins with it, if it
    sounds more like that one's beginning, or goes on for longer than its other readings. Where nobody can tell, if it
    stands so much nearer to that: who only reads a line again leaves a pause behind it. What was taken for such a start
    is judged likewise."""
    found = [*attempts]
    for at in range(len(found) - 2, 0, -1):
        before, attempt, following = found[at - 1 : at + 2]
        if _may_be_again(ground, before, attempt, following):
            again = attempt if attempt.full else replace(attempt, line=before.line, full=True)
            three = (before, again, following)
            is_start = _begins_next(ground, found, *three) or _goes_on(ground, again, found)
            found[at] = replace(attempt, line=following.line, full=False) if is_start else again
    return found


def with_lines_again(ground: Ground, attempts: Sequence[Attempt]) -> list[Attempt]:
    """The attempts, a start that says all of the line read before it being that line once more, and one that says all
    of the line before its own being that, where the line that it was taken for is not read next."""
    found: list[Attempt] = []
    for attempt, following in zip_longest(attempts, attempts[1:]):
        before = next((each.line for each in reversed(found) if each.full), None)
        of_next = attempt.full or (following is not None and following.line == attempt.line)
        lines = () if of_next else (line for line in (before, attempt.line - 1) if line is not None and line >= 0)
        line = next((line for line in lines if ground.spoken_words[line] == attempt.texts), None)
        found.append(attempt if line is None else replace(attempt, line=line, full=True))
    return found


def _may_be_again(ground: Ground, before: Attempt, attempt: Attempt, following: Attempt) -> bool:
    """Whether it says all of the line before, and the following line begins with these words."""
    line, texts = ground.spoken_words[following.line], ground.spoken_words[before.line]
    begins_it = len(texts) < len(line) and line[: len(texts)] == texts
    if attempt.full:
        return before.full and begins_it and attempt.line == before.line
    return before.full and begins_it and attempt.line == following.line and attempt.texts == texts


def _begins_next(
    ground: Ground, attempts: Sequence[Attempt], before: Attempt, attempt: Attempt, following: Attempt
) -> bool:
    """Whether the attempt is a start of the following one."""
    own, its = (readings_beside(ground, attempts, attempt, line) for line in (attempt.line, following.line))
    beginnings = ground.begins(wider(ground, attempts, attempt.span), [*own, *its])
    if not (beginnings and its):
        return _is_nearer(ground, before, attempt, following)
    apart = [beginning.distance for beginning in beginnings]
    as_own, as_its = min(apart[: len(own)]), min(apart[len(own) :])
    if CLEARLY * as_own < as_its < as_own:
        return _is_nearer(ground, before, attempt, following)
    return as_its < as_own


def _is_nearer(ground: Ground, before: Attempt, attempt: Attempt, following: Attempt) -> bool:
    before_ms, behind_ms = (ground.silence_ms(_between(*pair)) for pair in ((before, attempt), (attempt, following)))
    return behind_ms < min(SOON_MS, NEARER * before_ms)


def _goes_on(ground: Ground, attempt: Attempt, attempts: Sequence[Attempt]) -> bool:
    """Whether every other reading of the line lacks its end: it runs on into the next line's words."""
    span = wider(ground, attempts, attempt.span)
    others = readings_beside(ground, attempts, attempt, attempt.line)
    return bool(others) and all(ground.lacks_end(other, span, GOES_ON_MS) for other in others)


def _between(before: Attempt, after: Attempt) -> Span:
    return Span(before.span.end_ms, max(before.span.end_ms, after.span.start_ms))


def _begins_alike(line: Sequence[str], start: Sequence[str]) -> bool:
    """Whether the line begins in words that sound as the start's do: the sound cannot tell "sails" from "sales", nor
    "is" from an "isn't" that breaks off."""
    if len(start) > len(line):
        return False
    *before, last = zip(line, start, strict=False)
    alike = all(mine == other or wording.likeness(mine, other) == 1 for mine, other in before)
    mine, other = last
    cut = len(other) >= LEAST_LETTERS and mine.startswith(other)
    return alike and (mine == other or cut or wording.likeness(mine, other) == 1)
