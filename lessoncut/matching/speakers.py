"""Whether a reading is the teacher's, or a second speaker's who repeats after her."""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterable, Sequence, Set
from heapq import nsmallest
from itertools import pairwise
from typing import Protocol

from lessoncut.times import Span


class Voice(Protocol):
    """The colour of a voice; see ``hearing.timbre.Timbre``."""

    def distance(self, other: Voice, /) -> float: ...

    def apart(self, other: Voice, /) -> float:
        """The same for two readings of one line, of which the pitch tells something, too."""


VoiceOf = Callable[[Span], Voice | None]

SURELY_ONE = 0.42
"""Two readings of one line up to this far apart are one speaker's."""
SURELY_TWO = 0.8
ENOUGH_ECHOES = 3
NEAR = 8
"""Readings: who repeats does it line after line, so an unsure echo has a sure one so near, or one that has."""
ALL_BUT_THE_SAME, FEW_ECHOES = 0.15, 2
"""Who says a line again so much like before is not further than the surely-one distance from herself elsewhere."""
MANY_ECHOES, MOSTLY = 4, 0.67
"""So many echoes, and such a share of all, that are further than the surely-one distance are another's though no gap
parts them: who says a line again at once is as near to herself as that."""
FEW_NEAREST, FEWEST_NEAREST, CLEARLY, FAR_NEARER = 4, 2, 0.8, 0.6
"""So many readings of other lines, the nearest ones, tell whose voice one is in; the fewest that do; and how much
nearer they must be for a reading to be theirs, and for an echo to be hers: of 438 echoes two were hers."""
LEAST_GAP = 0.12
"""Between the two, a second speaker is believed where the distances fall into two groups this far apart."""


def nobody(span: Span) -> None:
    """For callers who cannot tell voices apart."""


def voices_apart(one: Span, other: Span, voice_of: VoiceOf) -> float | None:
    """How far the voice in one stretch is from that in the other; None where one is too short to tell."""
    mine, theirs = voice_of(one), voice_of(other)
    return mine.distance(theirs) if mine and theirs else None


def voice_apart_from_all(one: Span, others: Iterable[Span], voice_of: VoiceOf) -> float | None:
    """How far the voice in one stretch is from that in the nearest of the others; None where nobody can tell of any."""
    distances = (voices_apart(one, other, voice_of) for other in others)
    return min((distance for distance in distances if distance is not None), default=None)


def second_speaker(lines: Sequence[Hashable], voices: Sequence[Voice | None]) -> frozenset[int]:
    """The readings (indices, in time order) that are not the teacher's.

    ``lines`` is what each reading says: lines alike are one. A learner echoes: a reading is compared with the
    teacher's earlier ones of the same line, and only one that follows a reading of its own line can be another's.
    (Noise in the first reading of a line would else make a second speaker of every later one.) Where somebody does
    repeat, each reading is whose voice it is nearer to, whatever it says.
    """
    apart = _echoes(lines, _distances(lines, voices, SURELY_TWO))
    threshold = _threshold([distance for distance in apart if distance is not None])
    echoes = _above(threshold, _echoes(lines, _distances(lines, voices, threshold)))
    if len(echoes) < ENOUGH_ECHOES:
        # Nobody who repeats does so once: a voice that is only somewhat another is hers on another day.
        return frozenset(_above(SURELY_TWO, apart))
    sure = _above(SURELY_TWO, apart)
    near = _in_a_row(echoes, sure if len(sure) >= ENOUGH_ECHOES else echoes)
    return _nearer_theirs(lines, voices, near) if near else frozenset()


def _in_a_row(echoes: Set[int], sure: Set[int]) -> set[int]:
    """Those echoes that stand near a sure one, or near one that does."""
    found = {at for at in echoes if at in sure}
    for row in (sorted(echoes), sorted(echoes, reverse=True)):
        for before, at in pairwise(row):
            if before in found and abs(at - before) <= NEAR:
                found.add(at)
    return found


def _nearer_theirs(lines: Sequence[Hashable], voices: Sequence[Voice | None], echoes: Set[int]) -> frozenset[int]:
    """The readings whose voice is nearer to that of the echoes than to that of the readings that they follow, and that
    were read before anybody repeated: over several lines, since her readings of one line are no measure where her room
    changes, and what was repeated may have been taken for another line."""
    first = min(echoes)
    hers = [at for at in range(len(lines)) if at not in echoes and (at < first or _is_echoed(lines, echoes, at))]

    def mean_apart(at: int, others: Iterable[int]) -> float:
        return _mean_apart(voices[at], [voices[other] for other in others if lines[other] != lines[at]])

    found = set()
    for at in range(first, len(lines)):
        own, other = mean_apart(at, hers), mean_apart(at, echoes)
        if (own >= FAR_NEARER * other) if at in echoes else (other < CLEARLY * own):
            found.add(at)
    return frozenset(found)


def _is_echoed(lines: Sequence[Hashable], echoes: Set[int], at: int) -> bool:
    return at + 1 in echoes and lines[at + 1] == lines[at]


def is_second(start: Voice | None, hers: Sequence[Voice | None], theirs: Sequence[Voice | None]) -> bool:
    """Whether a line's start is nearer to one of their whole readings of that line than to any of hers."""
    own, other = _nearest(start, hers, 1), _nearest(start, theirs, 1)
    return bool(own and other) and other < own


def is_clearly_second(voice: Voice | None, hers: Sequence[Voice | None], theirs: Sequence[Voice | None]) -> bool:
    """Whether a stretch long enough to tell is clearly nearer to their readings, whatever these say, than to hers."""
    return _mean_apart(voice, theirs) < CLEARLY * _mean_apart(voice, hers)


def _mean_apart(voice: Voice | None, others: Sequence[Voice | None]) -> float:
    """From the nearest of the others; without end where these are too few."""
    nearest = _nearest(voice, others, FEW_NEAREST)
    return sum(nearest) / len(nearest) if len(nearest) >= FEWEST_NEAREST else math.inf


def _nearest(voice: Voice | None, others: Sequence[Voice | None], count: int) -> list[float]:
    """How far it is from so many of the others that are known, the nearest first."""
    return nsmallest(count, (voice.distance(other) for other in others if other)) if voice else []


def _above(threshold: float, apart: Sequence[float | None]) -> set[int]:
    return {at for at, distance in enumerate(apart) if distance is not None and distance > threshold}


def _echoes(lines: Sequence[Hashable], apart: Sequence[float | None]) -> list[float | None]:
    """The distances of those readings that follow a reading of their own line."""
    return [distance if at and lines[at - 1] == lines[at] else None for at, distance in enumerate(apart)]


def _distances(lines: Sequence[Hashable], voices: Sequence[Voice | None], threshold: float) -> list[float | None]:
    """Each reading's distance to the nearest of the teacher's earlier ones of its line; None where there is none. One
    that follows no reading of its line is hers, however far."""
    teacher: dict[Hashable, list[Voice]] = {}
    apart: list[float | None] = []
    for at, (line, voice) in enumerate(zip(lines, voices, strict=True)):
        known = teacher.setdefault(line, [])
        distance = min((voice.apart(other) for other in known), default=None) if voice else None
        apart.append(distance)
        first = not at or lines[at - 1] != line
        if voice and (distance is None or distance <= threshold or first):
            known.append(voice)
    return apart


def _threshold(distances: Sequence[float]) -> float:
    """The middle of a gap above the surely-one distance that is wide enough: the first where somebody surely repeats,
    else the widest; or of one that parts what is all but the same from all that is not."""
    rows = sorted(distances)
    for same, (lower, upper) in enumerate(pairwise(rows), start=1):
        if same >= FEW_ECHOES and lower <= ALL_BUT_THE_SAME and upper >= SURELY_ONE:
            return (lower + upper) / 2
    between = sorted(min(SURELY_TWO, max(SURELY_ONE, distance)) for distance in distances)
    gaps = [(upper - lower, (lower + upper) / 2) for lower, upper in pairwise([SURELY_ONE, *between])]
    wide = [gap for gap in gaps if gap[0] >= LEAST_GAP]
    surely = sum(distance >= SURELY_TWO for distance in distances) >= ENOUGH_ECHOES
    unlike_her = sum(distance > SURELY_ONE for distance in distances)
    if unlike_her >= max(MANY_ECHOES, MOSTLY * len(distances)):
        return SURELY_ONE
    if not wide:
        return SURELY_TWO
    return wide[0][1] if surely else max(wide)[1]
