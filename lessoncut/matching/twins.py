"""Lines that differ by a sound or two: where neither the words heard nor the sound tell which was read, the order does.

"Finch, J.?" read twice and "Finch, K.?" not at all is less likely than each read once, and one misheard.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

from lessoncut import wording
from lessoncut.hearing.records import Alignment
from lessoncut.matching.attempts import Attempt
from lessoncut.matching.doubt import doubt
from lessoncut.matching.follow import twins_in_order
from lessoncut.matching.ground import Ground
from lessoncut.matching.lay import Candidate
from lessoncut.matching.lines import laid

MOST_APART, MOST_APART_SHARE = 3, 0.25
"""Sounds, and of those that the line has."""
OTHERWISE = 0.05
"""What a line costs in place of the one that fits best, beside its doubt."""
MORE_DOUBT = 0.6
"""With more doubt than this over the line that fits best, another was not read."""


def with_near_twins(ground: Ground, attempts: Sequence[Attempt]) -> list[Attempt]:
    """The attempts, full ones each at that of the lines its sound may be which the order asks for."""
    twins = _near_twins(ground)
    likely = [twins.get(attempt.line, ()) if attempt.full and attempt.laid else () for attempt in attempts]
    lines = [attempt.line for attempt in attempts]
    wished = twins_in_order(ground.script, lines, [dict.fromkeys(mine, OTHERWISE) for mine in likely])
    asked = {
        at: Candidate(line, len(ground.spoken_words[line]), attempts[at].span)
        for at, line in enumerate(wished)
        if line in likely[at]
    }
    answers = ground.ask(list(asked.values()))
    others: list[dict[int, float]] = [{} for _ in attempts]
    for at, candidate in asked.items():
        more = _more_doubt(ground, candidate, answers[candidate], attempts[at])
        if more <= MORE_DOUBT:
            others[at][candidate.line] = OTHERWISE + max(0.0, more)
    found = list(attempts)
    for at, line in enumerate(twins_in_order(ground.script, lines, others)):
        if line in others[at]:
            more = others[at][line] - OTHERWISE
            twin = laid(ground, asked[at], answers[asked[at]], None, attempts[at].doubt + more)
            found[at] = replace(twin, heard=attempts[at].heard)
    return found


def _more_doubt(ground: Ground, candidate: Candidate, alignment: Alignment, attempt: Attempt) -> float:
    """Than of the line that fits best."""
    if not alignment.words:
        return math.inf
    return doubt(ground, candidate, alignment, candidate.stretch, attempt.heard, ()) - attempt.doubt


def _near_twins(ground: Ground) -> dict[int, list[int]]:
    """Of each line, the others of as many words that differ from it by few sounds."""
    found: dict[int, list[int]] = {}
    for (line, words), (other, others) in combinations(enumerate(ground.spoken_words), 2):
        if len(words) == len(others) and words != others and _are_near(words, others):
            found.setdefault(line, []).append(other)
            found.setdefault(other, []).append(line)
    return found


def _are_near(words: Sequence[str], others: Sequence[str]) -> bool:
    return wording.sounds_apart(words, others) <= min(MOST_APART, MOST_APART_SHARE * wording.sound_count(words))
