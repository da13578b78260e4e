"""How like each other two stretches sound, moment by moment, once the slower one is made to keep up with the other.

Mel-frequency cepstral coefficients of both are laid on each other by dynamic time warping
(Sakoe and Chiba 1978), each step at the same price. A line read twice by one voice is alike all through; where one word
was another, or was left out, it is not. No recogniser has a say in it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache, partial

import numpy as np
from numpy.typing import NDArray

from lessoncut.hearing import mel
from lessoncut.hearing.mel import HOP_MS
from lessoncut.take.samples import Samples, cut
from lessoncut.times import Span

LONGEST_MS, SHORTEST_MS = 15_000, 200
"""Neither longer stretches are compared, for the time it takes, nor shorter ones, which are like anything."""
SHORTEST_BEGUN_MS, LONGEST_BEGUN_MS = 150, 4000
"""Nor are longer or shorter ones looked for in the beginnings of others."""
SHORTER_BEGUN, LONGER_BEGUN = 0.6, 1.7
"""Nobody begins a line anew so much faster or slower."""
LEAST_OF_OTHER = 3
"""A stretch has at least one part in so many of the other."""
_COEFFICIENTS = 14
_LEVEL_WORTH = 0.4
"""Of the level, which differs from reading to reading."""
_NOISE_PERCENTILE, _NOISE_TIMES = 10, 2.0
_NOISE_EVERY = 8
"""Frames of which one is looked at to know the room's noise."""
_BLOCK = 4096
"""Frames transformed at once: memory does not grow with the take."""
_REMEMBERED = 512

Frames = NDArray[np.float32]
"""Shape (frames, coefficients): one row every ``HOP_MS``."""
Places = NDArray[np.intp]
Table = NDArray[np.float64]
Distances = NDArray[np.float64]
"""Shape (frames,): of each frame to those of the other stretch that it was laid on."""


@dataclass(frozen=True)
class Likeness:
    """Of a stretch of sound to another one, of whose end it lacks ``lacking_ms``: without that they are most alike."""

    span: Span
    distances: Distances
    lacking_ms: int

    @property
    def distance(self) -> float:
        """On the mean."""
        return float(self.distances.mean())

    @cached_property
    def usual(self) -> float:
        """The middle distance: more in noise, and of another voice."""
        return float(np.median(self.distances))

    def apart(self, span: Span) -> float:
        """How many times as far from the other one as is usual for the two the sound of ``span`` is, on the mean."""
        first = max(0, span.start_ms - self.span.start_ms) // HOP_MS
        last = max(first + 3, (span.end_ms - self.span.start_ms) // HOP_MS)
        part = self.distances[min(first, len(self.distances) - 3) : last]
        return float(part.mean()) / max(self.usual, 1e-9)


@dataclass(frozen=True)
class Beginning:
    """That beginning of a stretch of sound, of ``length_ms``, which another one is most like; ``distance`` on the mean
    of the way along both."""

    distance: float
    length_ms: int


class Comparer:
    """Compares stretches of one take; remembers the last few hundred of them.

    Whatever it remembers goes when it goes: nothing here refers to itself, and the take's sound is a file that is let
    go of at once.
    """

    def __init__(self, samples: Samples) -> None:
        self._frames = lru_cache(_REMEMBERED)(_Sound(samples).frames)
        self._compared = lru_cache(_REMEMBERED)(partial(_likenesses, self._frames))

    def compare(self, span: Span, other: Span) -> Likeness | None:
        """How like ``span`` sounds to ``other``; None where one is too long or too short."""
        if not all(SHORTEST_MS <= each.length_ms <= LONGEST_MS for each in (span, other)):
            return None
        if other < span:
            return self._compared(other, span)[1]
        return self._compared(span, other)[0]

    def beginnings(self, span: Span, others: Sequence[Span]) -> tuple[Beginning, ...]:
        """For each of the others that beginning of it which ``span`` is most like; none where the span is too long or
        too short for that."""
        if not (SHORTEST_BEGUN_MS <= span.length_ms <= LONGEST_BEGUN_MS and others):
            return ()
        longest_ms = int(LONGER_BEGUN * span.length_ms) + mel.FRAME_MS
        begun = [Span(other.start_ms, min(other.end_ms, other.start_ms + longest_ms)) for other in others]
        return _beginnings(self._frames(span), [self._frames(each) for each in begun])


@dataclass(frozen=True)
class _Sound:
    """Of one take."""

    samples: Samples

    def frames(self, span: Span) -> Frames:
        found = mel.cepstra(_powers(cut(self.samples, span)), _NOISE_TIMES * self._noise + 1e-7)[:, :_COEFFICIENTS]
        found[:, 0] *= _LEVEL_WORTH
        return np.asarray(found, np.float32)

    @cached_property
    def _noise(self) -> NDArray[np.float64]:
        """The power of the quieter moments in each band."""
        return np.asarray(np.percentile(_powers(self.samples, _NOISE_EVERY), _NOISE_PERCENTILE, axis=0))


def _likenesses(frames: Callable[[Span], Frames], first: Span, second: Span) -> tuple[Likeness, Likeness]:
    """Of the first to the second, and of the second to the first."""
    apart = _distances(frames(first), frames(second))
    costs = _costs(apart)
    way = _cheapest(costs)
    along = apart[way]
    ends = ((costs[-1, 1:], apart.shape[0]), (costs[1:, -1], apart.shape[1]))
    one, other = (
        Likeness(span, _means(along, at, size), _lacking_ms(*end))
        for span, at, size, end in zip((first, second), way, apart.shape, ends, strict=True)
    )
    return one, other


def _beginnings(one: Frames, others: Sequence[Frames]) -> tuple[Beginning, ...]:
    """All at once: the cheapest ways through one table each, side by side, as in ``_costs``."""
    sizes = np.array([len(other) for other in others])
    apart = np.zeros((len(others), len(one), int(sizes.max())))
    for at, other in enumerate(others):
        apart[at, :, : len(other)] = _distances(one, other)
    along = np.pad(apart.cumsum(axis=2), ((0, 0), (0, 0), (1, 0)))
    costs = np.full((len(others), apart.shape[2] + 1), np.inf)
    costs[:, 0] = 0.0
    for row in range(len(one)):
        into = np.minimum(costs[:, :-1], costs[:, 1:]) - along[:, row, :-1]
        costs[:, 1:] = np.minimum.accumulate(into, axis=1) + along[:, row, 1:]
        costs[:, 0] = np.inf
    ends = np.arange(1, costs.shape[1])
    mean = costs[:, 1:] / (len(one) + ends)
    shortest = np.minimum(int(SHORTER_BEGUN * len(one)), sizes - 1)
    mean[(ends > sizes[:, None]) | (ends <= shortest[:, None])] = np.inf
    best = mean.argmin(axis=1)
    return tuple(Beginning(float(row[end]), int(end + 1) * HOP_MS) for row, end in zip(mean, best, strict=True))


def _powers(samples: Samples, every: int = 1) -> mel.Powers:
    """Of each frame, or each so many."""
    short = max(0, mel.FRAME - len(samples))
    frames = mel.frames(np.pad(samples, (0, short)) if short else samples, every)
    taper = np.hanning(mel.FRAME) / 32768
    blocks = np.array_split(frames, 1 + len(frames) // _BLOCK)
    return np.vstack([mel.band_powers(block * taper) for block in blocks])


def _means(along: Distances, at: Places, size: int) -> Distances:
    """The mean of the distances along the way for each of the frames that they belong to."""
    return np.asarray(np.bincount(at, along, size) / np.bincount(at, minlength=size))


def _lacking_ms(costs: Distances, frames: int) -> int:
    """How much of the other stretch's end is left over where going up to one of its frames costs least, for each frame
    of both."""
    least = len(costs) // LEAST_OF_OTHER
    mean = costs / (frames + np.arange(1, len(costs) + 1))
    return (len(costs) - 1 - least - int(mean[least:].argmin())) * HOP_MS


def _distances(first: Frames, second: Frames) -> Table:
    """Euclidean, of each frame of the first to each of the second."""
    one, two = first.astype(np.float64), second.astype(np.float64)
    squares = (one**2).sum(axis=1)[:, None] + (two**2).sum(axis=1) - 2 * one @ two.T
    return np.asarray(np.sqrt(np.maximum(0.0, squares)))


def _costs(apart: Table) -> Table:
    """The least cost of a way from the first pair of frames to each, shape (frames + 1, frames + 1).

    A row at a time: the cheapest way along a row into each of its cells begins in the cell, up to there, in which the
    cost of coming into the row is least once what the row costs up to it is taken off.
    """
    rows, columns = apart.shape
    costs = np.full((rows + 1, columns + 1), np.inf)
    costs[0, 0] = 0.0
    along = np.pad(apart.cumsum(axis=1), ((0, 0), (1, 0)))
    for row in range(rows):
        into = np.minimum(costs[row, :-1], costs[row, 1:]) - along[row, :-1]
        costs[row + 1, 1:] = np.minimum.accumulate(into) + along[row, 1:]
    return costs


def _cheapest(costs: Table) -> tuple[Places, Places]:
    """The rows and columns, counted without the first ones, along the cheapest way to the last cell."""
    row, column = costs.shape[0] - 1, costs.shape[1] - 1
    way = [(row - 1, column - 1)]
    while row > 1 or column > 1:
        before = ((row - 1, column - 1), (row - 1, column), (row, column - 1))
        row, column = min(before, key=lambda cell: costs[cell])
        way.append((row - 1, column - 1))
    found = np.array(way[::-1])
    return found[:, 0], found[:, 1]
