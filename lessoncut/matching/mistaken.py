"""Readings that were taken for another line: of "Cap and cab." somebody hears "Beck and Beck", as of "Pack and back.".
Asked about the lines themselves, the recogniser tells them apart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from lessoncut import wording
from lessoncut.hearing.records import Wordings
from lessoncut.matching.attempts import Attempt, heard_text
from lessoncut.matching.ground import Ground, said
from lessoncut.matching.lay import Candidate
from lessoncut.matching.likelier import TWINS, wider
from lessoncut.matching.lines import laid_anyway

HEARD = 0.75
"""What was heard with so much likeness to the line was that line."""
LEAST_LASTS, MOST_LASTS = 0.5, 2.0
"""Of the time that the other line takes."""
LIKELIER, LESS_LIKELY, A_WORD = 6.0, 3.0, 5.5
"""How much likelier than the line that was told the other one must be, in natural logarithms; how much less likely than
the words heard it may be, and how unlikely, for each of its words."""


def with_mistaken_lines(ground: Ground, attempts: Sequence[Attempt]) -> list[Attempt]:
    """The attempts in time order, those full readings that were heard as other words than their line's being of the
    line near it that is far likelier, where there is one."""
    doubtful = [(attempt, others) for attempt in attempts if (others := _others(ground, attempt))]
    asked = [_wordings(ground, attempt, others) for attempt, others in doubtful]
    found: dict[Attempt, Candidate] = {}
    for (attempt, others), answer in zip(doubtful, ground.weigh(asked), strict=True):
        if answer.logs:
            as_heard, own, *logs = answer.logs
            log, line = max(zip(logs, others, strict=True))
            if log >= max(own + LIKELIER, as_heard - LESS_LIKELY, -A_WORD * len(ground.spoken_words[line])):
                found[attempt] = ground.whole(line, wider(ground, attempts, attempt.span))
    answers = ground.ask(list(found.values()))
    return [
        replace(laid_anyway(ground, whole, answers[whole], each.heard, each.doubt), heard=each.heard)
        if (whole := found.get(each))
        else each
        for each in attempts
    ]


def _wordings(ground: Ground, attempt: Attempt, others: Sequence[int]) -> Wordings:
    """What was heard, and its own line and the others as they are written."""
    return ground.wordings(
        attempt.span, heard_text(attempt), *(ground.script.lines[line].text for line in (attempt.line, *others))
    )


def _others(ground: Ground, attempt: Attempt) -> list[int]:
    """The lines that it may be of instead, but those of nearly its words."""
    heard = said(attempt.heard)
    if not (attempt.full and heard) or wording.row_likeness(heard, attempt.texts) >= HEARD:
        return []
    if _is_spelt(heard) and _is_spelt(attempt.texts):
        return []
    own, lasts_ms = ground.spoken_words[attempt.line], ground.speech_ms(attempt.span)
    return [
        line
        for line in ground.near(attempt.line)
        if wording.row_likeness(own, ground.spoken_words[line]) < TWINS
        and LEAST_LASTS < lasts_ms / ground.expected_ms(line, len(ground.spoken_words[line])) < MOST_LASTS
    ]


def _is_spelt(words: Sequence[str]) -> bool:
    """Whether most of them are letters, of which a row is unlikely whatever is said."""
    return sum(len(word) == 1 for word in words) > len(words) / 2
