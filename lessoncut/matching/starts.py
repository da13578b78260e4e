"""An attempt at a line that holds a start of it, a pause, and then the whole line."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from lessoncut import wording
from lessoncut.hearing.records import Alignment
from lessoncut.matching.attempts import Attempt, readings_of
from lessoncut.matching.fit import fit
from lessoncut.matching.ground import Ground
from lessoncut.matching.lay import Candidate
from lessoncut.matching.lines import CLEAR_COST, COMMA_MS, laid
from lessoncut.times import Span

LEAST_REST, LEAST_OF_OTHERS = 0.7, 0.8
"""Of the time a line takes at her pace, and took in its shortest other reading; less sound does not hold the whole of
it."""
LOWER, LOWER_THAN_WHOLE = 3.0, 4.0
"""How far a line that was begun anew may lie below the usual score, and below that with the sound before it."""
LOWER_START = 15.0
"""How far below the usual score its first words may lie: unsaid ones lie 60 lower."""
BEGUN_MS = 200
"""A start that lasts so long is more than "a" or "I"."""
HARDLY_LOWER = 2.0
"""Of two places where the line may begin anew the later one may lie so much lower."""
LITTLE_WORSE = 300.0
"""Summed over frames: a word said once more than the line has it is worth more."""
LONG_HOLE_MS, LOWER_AGAIN = 500, 35.0
"""Few stop so long inside a line: so far below the usual score its first words may lie then."""

NEARER_ANEW = 0.65
"""Of how far all of an attempt is from the line's other readings, what is begun anew in it: of 62 with a pause in them
that were not, one is so by 0.70, two by 0.79 and 0.90."""
LESS_LIKELY = 3.0
"""How much less likely than its rest alone the whole line may be behind a hole, in natural logarithms."""


@dataclass(frozen=True)
class _Rest:
    """What may hold a whole line after a hole in an attempt at it; ``before`` of its words stand before the hole."""

    line: Candidate
    before: int
    hole: Span


def with_starts(ground: Ground, attempts: Sequence[Attempt]) -> list[Attempt]:
    """The attempts, those parted in two that hold a start of the line and then the whole line.

    A recogniser gives words said twice in a row but once, and the aligner lays the first words on either. Where the
    whole line fits the sound after a hole as well as it does with the sound before, what stands before was a start.
    """
    rests = [_rests(ground, attempt, attempts) if attempt.laid else [] for attempt in attempts]
    answers = ground.ask([rest.line for mine in rests for rest in mine])
    likely = [
        (whole, rest)
        for whole, mine in zip(attempts, rests, strict=True)
        for rest in mine
        if _is_restart(ground, answers[rest.line], rest, whole)
    ]
    parted = {
        **_sounding_anew(ground, zip(attempts, rests, strict=True), attempts, answers),
        **_best_of_each(_likely_anew(ground, _begun_anew(ground, likely, answers)), answers),
    }
    found: list[Attempt] = []
    for whole in attempts:
        rest = parted.get(whole)
        found += _parted(ground, whole, rest, answers[rest.line]) if rest else [whole]
    return found


def _sounding_anew(
    ground: Ground,
    rests: Iterable[tuple[Attempt, Sequence[_Rest]]],
    attempts: Sequence[Attempt],
    answers: dict[Candidate, Alignment],
) -> dict[Attempt, _Rest]:
    """For some attempts the rest that sounds so much more like the line's other readings than all of it does."""
    found: dict[Attempt, _Rest] = {}
    for whole, mine in rests:
        others = [each.span for each in readings_of(whole.line, attempts, whole)]
        least = NEARER_ANEW * ground.distance(whole.span, others) if mine and others else math.inf
        for rest in mine if least < math.inf else ():
            distance = ground.distance(rest.line.stretch, others)
            if distance <= least and answers[rest.line].words:
                least, found[whole] = distance, rest
    return found


def _likely_anew(ground: Ground, likely: Sequence[tuple[Attempt, _Rest]]) -> list[tuple[Attempt, _Rest]]:
    """Those in whose rest the recogniser finds the whole line hardly less likely than what the line lacks before it."""
    asked = [
        ground.wordings(rest.line.stretch, ground.written(rest.line), ground.written(rest.line, rest.before))
        for _, rest in likely
    ]
    answers = ground.weigh(asked)
    return [
        one
        for one, answer in zip(likely, answers, strict=True)
        if not answer.logs or answer.logs[0] >= answer.logs[1] - LESS_LIKELY
    ]


def _best_of_each(likely: Sequence[tuple[Attempt, _Rest]], answers: dict[Candidate, Alignment]) -> dict[Attempt, _Rest]:
    """For each attempt its first rest, or the last on which its line lies hardly worse than on the one taken before."""
    found: dict[Attempt, _Rest] = {}
    for whole, rest in likely:
        before = found.get(whole)
        least = answers[before.line].mean_score - HARDLY_LOWER if before else -math.inf
        if answers[rest.line].mean_score >= least:
            found[whole] = rest
    return found


def with_beginnings_alike(ground: Ground, attempts: Sequence[Attempt]) -> list[Attempt]:
    """The attempts in time order, a start and its line being one reading where the line goes on in words like its first
    ones, and these lie on both hardly worse: "Look, Luke"."""
    pairs = [(start, line) for start, line in pairwise(attempts) if _may_be_beginning(start, line)]
    looks = [Candidate(line.line, line.upto, start.span.hull(line.span)) for start, line in pairs]
    rows = [(*start.texts, *line.texts) for start, line in pairs]
    apart = [ground.request(look.line, row, look.stretch) for look, row in zip(looks, rows, strict=True)]
    answers = ground.ask(looks)
    found = list(attempts)
    for (start, line), look, both in zip(pairs, looks, ground.align(apart) if apart else (), strict=True):
        whole = answers[look]
        if whole.words and ground.fit(look.stretch, whole) >= ground.fit(look.stretch, both) - LITTLE_WORSE:
            heard = (*start.heard, *line.heard)
            found[found.index(line)] = replace(laid(ground, look, whole, None, line.doubt), heard=heard)
            found.remove(start)
    return found


def _may_be_beginning(start: Attempt, line: Attempt) -> bool:
    if start.full or not line.full or start.line != line.line or start.span.gap_to_ms(line.span) >= COMMA_MS:
        return False
    return _begins_twice(line.texts, start.upto)


def _begins_twice(line: Sequence[str], count: int) -> bool:
    """Whether the line's first words are followed by the same ones, or each by one that is hardly another."""
    return wording.sounds_apart(line[count : 2 * count], line[:count]) <= count


def _begun_anew(
    ground: Ground, likely: Sequence[tuple[Attempt, _Rest]], answers: dict[Candidate, Alignment]
) -> list[tuple[Attempt, _Rest]]:
    """Those rests whose sound the whole line accounts for better than what the line lacks before it: after "Ah," the
    "ah" of the line cannot be told by its score alone, it is so short."""
    requests = [ground.request(whole.line, whole.texts[rest.before :], rest.line.stretch) for whole, rest in likely]
    going_on = ground.align(requests) if requests else ()
    return [
        (whole, rest)
        for (whole, rest), other in zip(likely, going_on, strict=True)
        if not other.words or _fit(ground, rest, answers[rest.line]) >= _fit(ground, rest, other)
    ]


def _fit(ground: Ground, rest: _Rest, alignment: Alignment) -> float:
    whole = rest.line.stretch  # a first word may begin well before it, in the room's noise
    return fit(whole, [(word.span.clipped(whole), word.score) for word in alignment.words], ground.speech_ms)


def _parted(ground: Ground, whole: Attempt, rest: _Rest, alignment: Alignment) -> list[Attempt]:
    """The start that stands before, and the whole line in the rest."""
    doubt = min(whole.doubt, CLEAR_COST)
    line = laid(ground, rest.line, alignment, None, doubt)
    *words, last = whole.words[: rest.before]
    if last.span.end_ms > rest.hole.end_ms:  # it was laid on both
        last = replace(last, span=Span(last.span.start_ms, rest.hole.start_ms))
    start = replace(whole, full=False, upto=rest.before, words=(*words, last), heard=(), changes=(), doubt=doubt)
    return [start, replace(line, heard=whole.heard)]


def _rests(ground: Ground, attempt: Attempt, attempts: Sequence[Attempt]) -> list[_Rest]:
    whole_ms, rest_ms = _least_ms(ground, attempt, attempts)
    if ground.speech_ms(attempt.span) < whole_ms:
        return []
    found = []
    for hole in ground.holes(attempt.span):
        after = Span(hole.end_ms, attempt.span.end_ms)
        before = attempt.words_before(hole.middle_ms)
        if before and ground.speech_ms(after) >= rest_ms:
            found.append(_Rest(Candidate(attempt.line, attempt.upto, after), before, hole))
    return found


def _least_ms(ground: Ground, attempt: Attempt, attempts: Sequence[Attempt]) -> tuple[float, float]:
    """How long the speech of a start and the whole line must last, and that of the line in it: compared with the line's
    other readings, and with her pace."""
    others = [one for one in readings_of(attempt.line, attempts, attempt) if one.laid]
    shortest_ms = min((ground.speech_ms(one.span) for one in others), default=0) if attempt.full else 0
    expected_ms = ground.expected_ms(attempt.line, attempt.upto)
    return shortest_ms, max(LEAST_REST * expected_ms, LEAST_OF_OTHERS * shortest_ms)


def _is_restart(ground: Ground, alignment: Alignment, rest: _Rest, whole: Attempt) -> bool:
    """Whether the line's first words, too, were said in the rest."""
    if not alignment.words:
        return False
    begun_ms = rest.hole.start_ms - whole.span.start_ms
    again = _telling(alignment, rest.before) if begun_ms >= BEGUN_MS else rest.before
    said_again = replace(alignment, words=alignment.words[:again]).mean_score
    least_again = LOWER_AGAIN if rest.hole.length_ms >= LONG_HOLE_MS else LOWER_START
    least = min(ground.usual_score - LOWER, whole.score - LOWER_THAN_WHOLE)
    if _begins_twice(whole.texts, rest.before):
        least = whole.score  # "kick, kick, kick" begins twice in any case, and "look, Luke" nearly
    return alignment.mean_score >= least and said_again >= ground.usual_score - least_again


def _telling(alignment: Alignment, count: int) -> int:
    """So many words, or the fewest more that hold one of more than one sound: "a" and "I" are too short to tell."""
    counts = range(count, len(alignment.words) + 1)
    return next((n for n in counts if wording.sound_count([word.text for word in alignment.words[:n]]) > n), count)
