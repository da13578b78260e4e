"""Whether a reading is the teacher's, or a second speaker's who repeats after her."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence, Set
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
NEAR = 6
"""Readings: who repeats does it line after line, so an unsure echo has a sure one so near."""
ANOTHER_TEXT = 1.1
"""A start and its line are further apart than two readings of the line, since their sounds are not the same."""
ALL_BUT_THE_SAME, FEW_ECHOES = 0.15, 2
"""Who says a line again so much like before is not further than the surely-one distance from herself elsewhere."""
LEAST_GAP = 0.12
"""Between the two, a second speaker is believed where the distances fall into two groups this far apart."""


def voices_apart(one: Span, other: Span, voice_of: VoiceOf) -> float | None:
    """How far the voice in one stretch is from that in the other; None where one is too short to tell."""
    mine, theirs = voice_of(one), voice_of(other)
    return mine.distance(theirs) if mine and theirs else None


def second_speaker(
    lines: Sequence[Hashable], voices: Sequence[Voice | None], families: Sequence[Hashable] = ()
) -> frozenset[int]:
    """The readings (indices, in time order) that are not the teacher's.

    ``lines`` is what each reading says: lines alike are one. A learner echoes: a reading is compared with the
    teacher's earlier ones of the same line, and only one that follows a reading of its own line can be another's.
    (Noise in the first reading of a line would else make a second speaker of every later one.)

    ``families`` is which lines each may have been taken for: who repeats "sick coat" may be heard as "thick coat".
    """
    apart = _echoes(lines, _distances(lines, voices, SURELY_TWO))
    threshold = _threshold([distance for distance in apart if distance is not None])
    everywhere = _distances(lines, voices, threshold)
    echoes = _above(threshold, _echoes(lines, everywhere))
    if len(echoes) < ENOUGH_ECHOES:
        # Nobody who repeats does so once: a voice that is only somewhat another is hers on another day.
        return frozenset(_above(SURELY_TWO, apart))
    sure = _above(SURELY_TWO, apart) or echoes
    echoes = {at for at in echoes if any(abs(at - other) <= NEAR for other in sure)}
    # Somebody does repeat: what is as far from hers is that voice too, though her own reading was not made out.
    theirs = frozenset(echoes | _above(min(everywhere[at] or threshold for at in echoes), everywhere))
    return theirs | _nearer_theirs(families or lines, voices, theirs, threshold)


def _nearer_theirs(
    families: Sequence[Hashable], voices: Sequence[Voice | None], theirs: Set[int], threshold: float
) -> frozenset[int]:
    """The readings that are nearer to one of theirs than to any that was read before somebody repeated."""
    found = set()
    for at in range(min(theirs), len(voices)):
        same = [other for other in range(len(voices)) if families[other] == families[at] and other != at]
        hers = _nearest(voices[at], [voices[other] for other in same if other < min(theirs)])
        other = _nearest(voices[at], [voices[other] for other in same if other in theirs])
        if hers is not None and other is not None and other < hers > threshold:
            found.add(at)
    return frozenset(found)


def is_second(start: Voice | None, long: bool, hers: Sequence[Voice | None], theirs: Sequence[Voice | None]) -> bool:
    """Whether a line's start is the second speaker's, where there is one who repeats.

    ``hers`` and ``theirs`` are the voices in whole readings of that line; ``long`` starts can be told without theirs.
    """
    own, other = _nearest(start, hers), _nearest(start, theirs)
    if own is None:
        return False
    return other < own if other is not None else long and own > ANOTHER_TEXT


def _nearest(voice: Voice | None, others: Sequence[Voice | None]) -> float | None:
    return min((voice.distance(other) for other in others if other), default=None) if voice else None


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
    wide = [gap for gap in gaps if gap[0] >= LEAST_GAP] or [(0.0, SURELY_TWO)]
    surely = sum(distance >= SURELY_TWO for distance in distances) >= ENOUGH_ECHOES
    return wide[0][1] if surely else max(wide)[1]
