"""Lines that differ by a sound or two: where neither the words heard nor the sound tell which was read, the order does.

"Finch, J.?" read twice and "Finch, K.?" not at all is less likely than each read once, and one misheard.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import combinations

from lessoncut import wording
from lessoncut.hearing.records import Alignment
from lessoncut.matching.attempts import Attempt
from lessoncut.matching.doubt import doubt
from lessoncut.matching.follow import twins_in_order
from lessoncut.matching.ground import Ground, said
from lessoncut.matching.lay import Candidate
from lessoncut.matching.lines import laid

MOST_APART, MOST_APART_SHARE, MOST_APART_SHARE_OF_ONE = 3, 0.25, 0.5
"""Sounds, and of those that the line has, or its only word."""
OTHERWISE = 0.05
"""What a line costs in place of the one that fits best, beside its doubt."""
SOUND_WEIGHT = 0.2
"""For each unit, in log score a frame, that the sound fits the one better than the other."""
CLEARLY = 0.5
"""So much less doubt, and the twin was read, whatever the order."""
MORE_LIKE, FAR_LESS = 0.05, 1.5
"""By how much more like the words heard another line must be to be asked about; and how much less must speak against
it."""
MORE_DOUBT = 0.9
"""With more doubt than this over the line that fits best, another was not read."""


def with_twins(ground: Ground, attempts: Sequence[Attempt]) -> list[Attempt]:
    """The attempts, those at lines of the very same words, or of a sound that may be either's, each at the one that the
    order asks for."""
    twins = near_twins(ground.spoken_words)
    asked = {
        at: [whole_line(ground, line, attempt) for line in (attempt.line, *lines)]
        for at, attempt in enumerate(attempts)
        if attempt.full and attempt.laid and (lines := _others(ground, attempt, twins))
    }
    answers = ground.ask([candidate for mine in asked.values() for candidate in mine])
    others: list[dict[int, float]] = [{} for _ in attempts]
    for at, (own, *mine) in asked.items():
        costs = {each.line: misfit(ground, each, answers[each], attempts[at]) for each in (own, *mine)}
        more = {twin.line: _more(costs[twin.line], costs[own.line]) for twin in mine}
        most = {line: MORE_DOUBT if line in twins.get(own.line, ()) else -FAR_LESS for line in more}
        others[at] = {line: OTHERWISE + cost for line, cost in more.items() if cost <= most[line]}
    full = [at for at, attempt in enumerate(attempts) if attempt.full]  # a start may be any twin's
    placed = twins_in_order(ground.script, [attempts[at].line for at in full], [others[at] for at in full])
    found = list(attempts)
    for at, line in zip(full, placed, strict=True):
        found[at] = replace(attempts[at], line=line)
        if line in others[at]:
            twin = next(twin for twin in asked[at] if twin.line == line)
            anew = laid(ground, twin, answers[twin], None, attempts[at].doubt + max(0.0, others[at][line]))
            found[at] = replace(anew, heard=attempts[at].heard)
    return found


def _others(ground: Ground, attempt: Attempt, twins: Mapping[int, Sequence[int]]) -> list[int]:
    """The near twins of the line; and the lines that share words with those heard, which are more like them."""
    heard = said(attempt.heard)
    like = wording.row_likeness(heard, attempt.texts)
    alike = (
        line
        for line in ground.lines_like(attempt.heard)
        if wording.row_likeness(heard, ground.spoken_words[line]) > like + MORE_LIKE
    )
    return list(dict.fromkeys([*twins.get(attempt.line, ()), *alike]))  # its own line is no more like them


def whole_line(ground: Ground, line: int, attempt: Attempt) -> Candidate:
    return ground.whole(line, attempt.span)


def misfit(ground: Ground, line: Candidate, alignment: Alignment, attempt: Attempt) -> float:
    """What speaks against the line where the attempt is: infinite without a path."""
    if not alignment.words:
        return math.inf
    return doubt(ground, line, alignment, line.stretch, attempt.heard, ()) - SOUND_WEIGHT * alignment.mean_score


def _more(twin: float, own: float) -> float:
    """How much more speaks against the twin; negative only where the sound is clearly its own."""
    more = twin - own if math.isfinite(twin) else math.inf
    return more if more < -CLEARLY else max(0.0, more)


@lru_cache(maxsize=2)
def near_twins(spoken_words: tuple[tuple[str, ...], ...]) -> Mapping[int, Sequence[int]]:
    """Of each line, the others of as many words that differ from it by few sounds. Asked twice of a script."""
    found: dict[int, list[int]] = {}
    for (line, words), (other, others) in combinations(enumerate(spoken_words), 2):
        if len(words) == len(others) and words != others and _are_near(words, others):
            found.setdefault(line, []).append(other)
            found.setdefault(other, []).append(line)
    return found


def _are_near(words: Sequence[str], others: Sequence[str]) -> bool:
    share = MOST_APART_SHARE if len(words) > 1 else MOST_APART_SHARE_OF_ONE
    return wording.sounds_apart(words, others) <= min(MOST_APART, share * wording.sound_count(words))
