"""Starts that run into their line without a pause: "Did you, did you read it?"

A recogniser gives words said twice in a row but once, and no pause tells of the break. But then the line's first words
last too long, or leave speech between them; and the sound is borne out better by the line with those words said twice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from lessoncut.hearing.records import Alignment, AlignmentRequest
from lessoncut.matching.attempts import Attempt
from lessoncut.matching.fit import fit
from lessoncut.matching.ground import Ground
from lessoncut.matching.lay import Candidate
from lessoncut.matching.lines import CLEAR_COST, laid
from lessoncut.times import Span

FEW_WORDS, MOST_WORDS = 3, 4
"""So many of a line's words are looked at for a start, first and at most."""
TOO_LONG, LONGER_MS = 1.35, 200
"""Of the time that words take, and beyond it: less is no room for words said twice."""
LEAST_GAIN = 1000.0
"""How much better the words said twice fit, summed over frames. Words that were said but once mostly lose by it."""


def with_restarts(ground: Ground, attempts: Sequence[Attempt]) -> list[Attempt]:
    """The attempts, a full line whose first words were said twice without a pause being a start and the line."""
    first = {at: _first_look(suspected(ground, attempt)) for at, attempt in enumerate(attempts)}
    gains = _gains(ground, attempts, [(at, count) for at, counts in first.items() for count in counts])
    promising = {at for (at, _), (gained, _) in gains.items() if gained > 0}
    others = [(at, n) for at in sorted(promising) for n in suspected(ground, attempts[at]) if n not in first[at]]
    gains |= _gains(ground, attempts, others)
    best = {at: max((key for key in gains if key[0] == at), key=lambda key: gains[key][0]) for at in promising}
    found: list[Attempt] = []
    for at, attempt in enumerate(attempts):
        gained, twice = gains[best[at]] if at in best else (0.0, None)
        found += _parted(ground, attempt, best[at][1], twice) if twice and gained >= LEAST_GAIN else [attempt]
    return found


def _first_look(counts: Sequence[int]) -> tuple[int, ...]:
    """One word, and so many that all starts of a few words gain by it: the others are asked only where one gains."""
    return tuple(dict.fromkeys((counts[0], min(FEW_WORDS, counts[-1])))) if counts else ()


def _gains(
    ground: Ground, attempts: Sequence[Attempt], asked: Sequence[tuple[int, int]]
) -> dict[tuple[int, int], tuple[float, Alignment]]:
    """By index of the attempt and number of words: what is gained by saying these twice, and how they lie then."""
    requests = [_said_twice(ground, attempts[at], count) for at, count in asked]
    answers = ground.align(requests) if requests else ()
    return {
        (at, count): (gain(ground, attempts[at], answer), answer)
        for (at, count), answer in zip(asked, answers, strict=True)
    }


def _said_twice(ground: Ground, attempt: Attempt, count: int) -> AlignmentRequest:
    return ground.request(attempt.line, (*attempt.texts[:count], *attempt.texts), attempt.span)


def suspected(ground: Ground, attempt: Attempt) -> range:
    """How many first words of the attempt may have been said twice: none, or any number up to four.

    They may where the speech up to the word after them lasts too long for them.
    """
    upto = min(MOST_WORDS, len(attempt.words) - 1)
    if not (attempt.full and attempt.laid):
        return range(0)
    return range(1, upto + 1) if any(_is_too_long(ground, attempt, n) for n in range(1, upto + 1)) else range(0)


def _is_too_long(ground: Ground, attempt: Attempt, count: int) -> bool:
    speech_ms = ground.speech_ms(Span(attempt.span.start_ms, attempt.words[count].span.start_ms))
    expected_ms = ground.expected_ms(attempt.line, count)
    return speech_ms >= max(TOO_LONG * expected_ms, expected_ms + LONGER_MS)


def gain(ground: Ground, attempt: Attempt, twice: Alignment) -> float:
    """How much better the sound of the attempt fits the words with the first ones said twice, summed over frames."""
    if not twice.words:
        return float("-inf")
    once = [(word.span, attempt.score) for word in attempt.words]
    said_twice = [(word.span, word.score) for word in twice.words]
    return fit(attempt.span, said_twice, ground.speech_ms) - fit(attempt.span, once, ground.speech_ms)


def _parted(ground: Ground, attempt: Attempt, count: int, twice: Alignment) -> list[Attempt]:
    """The start, of the first ``count`` words, and the whole line behind it."""
    doubt = min(attempt.doubt, CLEAR_COST)
    start, line = (
        laid(ground, Candidate(attempt.line, len(words), attempt.span), replace(twice, words=words), None, doubt)
        for words in (twice.words[:count], twice.words[count:])
    )
    words = tuple(replace(word, heard=was.heard) for word, was in zip(line.words, attempt.words, strict=True))
    return [start, replace(line, heard=attempt.heard, words=words)]
