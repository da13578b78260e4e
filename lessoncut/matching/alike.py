"""Readings of lines a sound or two apart, compared with one another: in one voice, those of one line sound alike.

Whether a "pen" is a "pan" is hard to say of a single reading; which readings say the same of the two is not.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import combinations, product

from lessoncut.hearing.records import HeardWord
from lessoncut.matching.attempts import Attempt
from lessoncut.matching.follow import order_cost
from lessoncut.matching.ground import Ground, said
from lessoncut.matching.lines import laid
from lessoncut.matching.speakers import Voice, VoiceOf
from lessoncut.matching.twins import misfit, near_twins, whole_line

LEAST_PARTED = 1.25
"""The nearest readings of two groups are so many times as far apart as the furthest of one."""
LEAST_APART = 0.2
"""Nearer than this are the same words, said by one voice at two times."""
MORE_GROUPS = 2
"""Than lines: a reading with a knock in it, or of somebody else, sounds like none."""
MOST_MORE = 1.8
"""So much more than before may speak against the lines, one read again and its twin left out, for what sounds alike to
be one line; more, and they are alike in something else: a learner's voice."""
LITTLE_DOUBT, LOWER = 1.2, 10.0
"""How much a reading may be doubted, and how far below the usual score it may lie, for its words to be where the
aligner has them."""
BESIDE_MS = 20
"""Beside the words in which the lines differ: the sounds there change with them."""


def with_alike_as_one(ground: Ground, attempts: Sequence[Attempt]) -> list[Attempt]:
    """The attempts in time order, those at near twins being of one line where they sound alike: the line that their
    words, the aligner and the order ask for together."""
    found = list(attempts)
    for lines in _families(near_twins(ground.spoken_words)):
        members = [at for at, attempt in enumerate(found) if attempt.line in lines and _is_well_laid(ground, attempt)]
        groups = _groups(ground, [found[at] for at in members], lines)
        for at, anew in _each_of_one(ground, found, [[members[each] for each in group] for group in groups], lines):
            found[at] = anew
    return found


def _families(twins: Mapping[int, Sequence[int]]) -> list[tuple[int, ...]]:
    """The rows of lines that are all near twins of one another."""
    rows = {line: tuple(sorted((line, *others))) for line, others in twins.items()}
    return sorted(row for row in set(rows.values()) if all(rows[line] == row for line in row))


def _is_well_laid(ground: Ground, attempt: Attempt) -> bool:
    """Whether it is a reading that lies well; one with another word in it may be like none of the lines there."""
    well = attempt.doubt <= LITTLE_DOUBT and attempt.score >= ground.usual_score - LOWER
    return attempt.full and attempt.laid and well and not attempt.changes


def _groups(ground: Ground, readings: Sequence[Attempt], lines: Sequence[int]) -> tuple[frozenset[int], ...]:
    """The readings in groups that sound alike in the words in which the lines differ; none without such groups."""
    rows = list(zip(*(ground.spoken_words[line] for line in lines), strict=True))
    differing = [at for at, row in enumerate(rows) if len(set(row)) > 1]
    apart = _distances([_voice(each, differing[0], differing[-1] + 1, ground.voice_of) for each in readings])
    groups = groups_alike(apart, len(lines) + MORE_GROUPS) if apart else ()
    first, upto = max((0, differing[0]), (differing[-1] + 1, len(rows)), key=lambda part: part[1] - part[0])
    rest = _distances([_voice(each, first, upto, ground.voice_of) for each in readings]) if first < upto else ()
    return () if groups and rest and _parted(rest, groups) >= LEAST_PARTED else groups  # they are of two speakers


def _voice(reading: Attempt, first: int, upto: int, voice_of: VoiceOf) -> Voice | None:
    """In the words from the first on."""
    span = reading.words[first].span.hull(reading.words[upto - 1].span)
    return voice_of(span.padded(BESIDE_MS, BESIDE_MS))


def _distances(voices: Sequence[Voice | None]) -> Sequence[Sequence[float]]:
    """Of each to each; none where one of them is too short to tell."""
    known = [voice for voice in voices if voice]
    return [[one.distance(other) for other in known] for one in known] if len(known) == len(voices) else ()


def groups_alike(apart: Sequence[Sequence[float]], most: int) -> tuple[frozenset[int], ...]:
    """The readings (indices) in two to ``most`` groups, each of those that sound alike: in as many as are parted best;
    none where they do not fall into groups.

    ``apart``: the distance of each reading to each. Complete linkage (Sørensen 1948): the two groups whose furthest
    members are nearest are made one, again and again.
    """
    groups = [frozenset([at]) for at in range(len(apart))]
    found: list[tuple[float, tuple[frozenset[int], ...]]] = []
    while len(groups) > 1:
        if len(groups) <= most:
            found.append((_parted(apart, groups), tuple(sorted(groups, key=min))))
        one, other = min(combinations(groups, 2), key=lambda pair: _furthest(apart, pair[0] | pair[1]))
        groups = [group for group in groups if group not in (one, other)] + [one | other]
    parted, best = max(found, key=lambda each: each[0], default=(0.0, ()))
    return best if parted >= LEAST_PARTED else ()


def _parted(apart: Sequence[Sequence[float]], groups: Sequence[frozenset[int]]) -> float:
    """How many times as far the groups are from one another as members are from their own; 0 of single readings, which
    nobody can tell, and where all are near."""
    within = max(_furthest(apart, group) for group in groups)
    between = min(apart[one][other] for a, b in combinations(groups, 2) for one in a for other in b)
    return between / within if within > 0 and between >= LEAST_APART else 0.0


def _furthest(apart: Sequence[Sequence[float]], group: frozenset[int]) -> float:
    return max((apart[one][other] for one, other in combinations(group, 2)), default=0.0)


def _heard_apart(attempts: Sequence[Attempt], groups: Sequence[Sequence[int]]) -> dict[int, tuple[HeardWord, ...]]:
    """The words heard of each reading of the groups, but none that were heard in every group: what sounds otherwise and
    is heard the same, the recogniser cannot tell apart."""
    texts = [{said(attempts[at].heard) for at in group} for group in groups]
    in_all = set.intersection(*texts) if len(texts) > 1 else set()
    return {at: () if said(attempts[at].heard) in in_all else attempts[at].heard for group in groups for at in group}


def _each_of_one(
    ground: Ground, attempts: Sequence[Attempt], groups: Sequence[Sequence[int]], lines: Sequence[int]
) -> list[tuple[int, Attempt]]:
    """Those attempts of the groups that are another line when each group is of one, with their places."""
    looks = {(at, line): whole_line(ground, line, attempts[at]) for group in groups for at in group for line in lines}
    answers = ground.ask(list(looks.values()))
    heard = _heard_apart(attempts, groups)
    costs = {
        (at, line): misfit(ground, look, answers[look], replace(attempts[at], heard=heard[at]))
        for (at, line), look in looks.items()
    }

    def cost(read: Mapping[int, int]) -> float:
        placed = [read.get(at, attempt.line) for at, attempt in enumerate(attempts)]
        return sum(costs[at, line] for at, line in read.items()) + order_cost(ground.script, placed)

    now = {at: attempts[at].line for group in groups for at in group}
    ways = [
        {at: line for group, line in zip(groups, way, strict=True) for at in group}
        for way in product(lines, repeat=len(groups))
    ]
    best = min(ways, key=cost)
    if math.isinf(cost(best)) or cost(best) > cost(now) + MOST_MORE:
        return []
    changed = {at: looks[at, line] for at, line in best.items() if line != now[at]}
    return [
        (at, replace(laid(ground, look, answers[look], None, attempts[at].doubt), heard=attempts[at].heard))
        for at, look in changed.items()
    ]
