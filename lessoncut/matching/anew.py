"""Lines that were not begun anew, though the aligner would have it so: a word was put in, or drawn out. Asked whether
the first words are said twice, the recogniser finds that far less likely than once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from lessoncut import wording
from lessoncut.matching.attempts import Attempt
from lessoncut.matching.ground import Ground, said
from lessoncut.matching.lay import Candidate
from lessoncut.matching.lines import laid
from lessoncut.times import Span

LIKE = 0.5
"""What was heard first of the line with more likeness to its first word was that."""
AT_ONCE_MS = 200
"""Behind a longer pause there are surely two."""
IN_ONE_BREATH_MS = 400
"""So much speech between them, without a pause, may be the line's own."""
LESS_LIKELY = 12.0
"""How much less likely, in natural logarithms: of 48 lines begun anew twice was so by 9 at most, of two that were not
by 17 and more."""


def without_unlikely_restarts(ground: Ground, attempts: Sequence[Attempt]) -> list[Attempt]:
    """The attempts in time order, a start and the whole line right behind it, whose first word was not heard twice,
    being one reading where it is so unlikely that the words were said twice."""
    pairs = [(start, line) for start, line in pairwise(attempts) if _may_be_one(ground, start, line)]
    asked = [ground.wordings(start.span.hull(line.span), *_once_and_twice(ground, start)) for start, line in pairs]
    unlikely = {
        line: (start, Candidate(line.line, line.upto, start.span.hull(line.span)))
        for (start, line), answer in zip(pairs, ground.weigh(asked), strict=True)
        if answer.logs and answer.logs[1] < answer.logs[0] - LESS_LIKELY
    }
    answers = ground.ask([whole for _, whole in unlikely.values()])
    one = {
        line: (start, replace(laid(ground, whole, answers[whole], None, line.doubt), heard=(*start.heard, *line.heard)))
        for line, (start, whole) in unlikely.items()
        if answers[whole].words
    }
    given_up = {start for start, _ in one.values()}
    return [one[each][1] if each in one else each for each in attempts if each not in given_up]


def _may_be_one(ground: Ground, start: Attempt, line: Attempt) -> bool:
    if not start.is_start_of(line) or (start.heard and _is_heard_anew(line)):
        return False
    between = Span(start.span.end_ms, max(start.span.end_ms, line.span.start_ms))
    return between.length_ms < AT_ONCE_MS or (between.length_ms < IN_ONE_BREATH_MS and not ground.silence_ms(between))


def _is_heard_anew(line: Attempt) -> bool:
    """Whether the line's first word was heard in it, or none was."""
    heard = said(line.heard)
    return not heard or wording.likeness(heard[0], line.texts[0]) >= LIKE


def _once_and_twice(ground: Ground, start: Attempt) -> tuple[str, str]:
    once = ground.script.lines[start.line].text
    return once, f"{ground.written(Candidate(start.line, start.upto, start.span)).rstrip(',')}, {once}"
