"""Split the readings of the passage into passes, and tell the model reading from the repeat pass.

Going back in the passage is either a retake inside one pass or the start of the next. The cheapest split decides:
a pass costs something, and so do each line it drops and each full reading it holds twice. Pauses that begin or cease
speak for a new pass; going back in the same manner before the end was reached speaks for a passage restarted half-way.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median

from lessoncut.matching.records import PassKind

PASS_COST = 1.0
DROPPED_COST = 1.0
BEGUN_COST = 0.4
"""For a line that is only begun: the recogniser may have lost its end."""
TWICE_COST = 0.55
OTHER_MANNER_COST = 0.12
REPEAT_PAUSE_MS = 1400
"""A middle pause of this length makes a lone pass a repeat pass (reading pauses between sentences stay below
about 1.4 s, see Campione and Veronis 2002; longer ones are left for a learner)."""
ANEW_COST = 3.0
"""For going back inside one pass from its end to its beginning, and on from there: nobody retakes all of it."""
NEAR = 1
"""So many lines at the end, or at the beginning, may be missing."""
RESTARTED_COST = 1.6
"""When a pass without pauses follows one that broke off before the end: more likely one pass, restarted."""
FAR_SHORTER = 0.6
CHANGED_MANNER_GAIN = 1.2
"""When pauses begin or cease there."""


@dataclass(frozen=True)
class Spoken:
    """What the split needs to know of one reading: its line's place in the passage, and the pause after it.

    ``pause_after_ms`` is None where something else than the next reading follows.
    """

    place: int
    full: bool
    pause_after_ms: int | None


@dataclass(frozen=True)
class Stretch:
    """Readings ``[first, last]`` form one pass."""

    first: int
    last: int
    kind: PassKind


def split_passes(spoken: Sequence[Spoken], lines: int) -> tuple[Stretch, ...]:
    """The passes among these readings, which are in time order; ``lines`` is the length of the passage."""
    if not spoken or not lines:
        return ()
    starts = _turning_points(spoken)
    best: list[tuple[float, tuple[int, ...]]] = [(0.0, ())]
    for end in range(1, len(starts) + 1):
        options = []
        for begin in range(end):
            first = starts[begin]
            last = (starts[end] if end < len(starts) else len(spoken)) - 1
            cost = best[begin][0] + _pass_cost(spoken[first : last + 1], lines)
            joined = best[begin][1]
            if joined:
                cost += _meeting_cost(spoken[joined[-1] : first], spoken[first : last + 1], lines)
            options.append((cost, (*joined, first)))
        best.append(min(options))
    return _with_kinds(spoken, best[-1][1])


def _turning_points(spoken: Sequence[Spoken]) -> list[int]:
    """Where a pass may start: at the first reading, and wherever the passage goes back."""
    return [0] + [at for at in range(1, len(spoken)) if spoken[at].place < spoken[at - 1].place]


def _pass_cost(stretch: Sequence[Spoken], lines: int) -> float:
    full = [reading.place for reading in stretch if reading.full]
    begun = {reading.place for reading in stretch} - set(full)
    dropped = lines - len(set(full)) - len(begun)
    twice = len(full) - len(set(full))
    lost = DROPPED_COST * dropped + BEGUN_COST * len(begun)
    return PASS_COST + lost + TWICE_COST * twice + ANEW_COST * _begun_anew(stretch, lines) + _manner_cost(stretch)


def _begun_anew(stretch: Sequence[Spoken], lines: int) -> int:
    """How often the passage was read on from its beginning after its end had been reached."""
    times = 0
    reached = -1
    for reading, following in pairwise(stretch):
        if reading.place <= NEAR < lines - 1 - NEAR <= reached and following.place > reading.place:
            times += 1
            reached = -1
        reached = max(reached, reading.place)
    return times


def _manner_cost(stretch: Sequence[Spoken]) -> float:
    """For readings with a learner's pause in a pass that flows, and the other way round."""
    paused = [pause_ms >= REPEAT_PAUSE_MS for pause_ms in _pauses_ms(stretch)]
    return OTHER_MANNER_COST * min(sum(paused), len(paused) - sum(paused))


def middle_pause_ms(stretch: Sequence[Spoken]) -> float:
    """The middle pause inside the stretch; retakes and broken-off starts are not asked."""
    pauses = _pauses_ms(stretch)
    return median(pauses) if pauses else 0.0


def _pauses_ms(stretch: Sequence[Spoken]) -> list[int]:
    return [
        reading.pause_after_ms
        for reading, following in pairwise(stretch)
        if reading.full and reading.pause_after_ms is not None and following.place > reading.place
    ]


def _meeting_cost(earlier: Sequence[Spoken], later: Sequence[Spoken], lines: int) -> float:
    """What speaks against (or, below zero, for) a new pass where these two meet."""
    flows = [middle_pause_ms(stretch) < REPEAT_PAUSE_MS for stretch in (earlier, later)]
    if flows[0] != flows[1]:
        return -CHANGED_MANNER_GAIN
    reached_the_end = max(reading.place for reading in earlier) >= lines - 1
    return RESTARTED_COST if all(flows) and not reached_the_end else 0.0


def _with_kinds(spoken: Sequence[Spoken], starts: Sequence[int]) -> tuple[Stretch, ...]:
    ends = [*(start - 1 for start in starts[1:]), len(spoken) - 1]
    pauses = [middle_pause_ms(spoken[first : last + 1]) for first, last in zip(starts, ends, strict=True)]
    repeat = [pause >= REPEAT_PAUSE_MS for pause in pauses]
    if len(pauses) > 1 and (all(repeat) or not any(repeat)):
        # All read alike: the lesson still has one model reading, the first, or one whose pauses are far shorter.
        shortest = min(range(len(pauses)), key=pauses.__getitem__)
        model = shortest if all(repeat) and pauses[shortest] < FAR_SHORTER * pauses[0] else 0
        repeat = [at != model for at in range(len(pauses))]
    return tuple(
        Stretch(first, last, "repeat" if is_repeat else "model")
        for first, last, is_repeat in zip(starts, ends, repeat, strict=True)
    )
