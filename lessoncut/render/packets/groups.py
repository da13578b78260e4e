"""Groups of pictures, and which of them can be copied whole into the lesson.

A group begins with an IDR picture: nothing after it refers to anything before it. Pictures are counted in the order
in which they are shown, packets in the order in which they are decoded.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lessoncut.render.shots import Held, Played, Strip

FEWEST_COPIED = 8
"""Fewer frames than this are not worth two more joins."""


@dataclass(frozen=True)
class Group:
    """Packets ``[first_packet, first_packet + len(places))``; ``places`` says as which picture of the group each is
    shown. All of them are shown, and the first is ``first_picture`` of the file."""

    first_packet: int
    first_picture: int
    places: tuple[int, ...]

    @property
    def end_picture(self) -> int:
        return self.first_picture + len(self.places)

    def packets_until(self, end_picture: int) -> int:
        """The most packets from the first on that show all pictures up to some one, none left out, and none from
        ``end_picture`` on."""
        limit, highest, best = end_picture - self.first_picture, -1, 0
        for count, place in enumerate(self.places, start=1):
            highest = max(highest, place)
            if highest >= limit:
                break
            if highest == count - 1:
                best = count
        return best


@dataclass(frozen=True)
class Order:
    """The packets of one file: ``places`` says as which picture of the file each is shown (-1: not at all)."""

    places: NDArray[np.int64]
    idr: NDArray[np.bool_]

    @property
    def pictures(self) -> int:
        return int((self.places >= 0).sum())

    def needed_for(self, first: int, last: int) -> range:
        """The packets that must be decoded so that pictures ``[first, last)`` come out whole."""
        own = np.flatnonzero((self.places >= first) & (self.places < last))
        starts = np.flatnonzero(self.idr)
        before = starts[starts <= np.flatnonzero(self.places == first)[0]]
        return range(int(before[-1]) if len(before) else 0, int(own[-1]) + 1)

    def groups(self) -> tuple[Group, ...]:
        """The groups of which every packet is shown."""
        starts = np.flatnonzero(self.idr)
        found = []
        for start, end in zip(starts, [*starts[1:], len(self.places)], strict=True):
            places = self.places[start:end]
            first = int(places[0])
            if first >= 0 and places.min() == first and places.max() == first + len(places) - 1:
                found.append(Group(int(start), first, tuple(int(place) - first for place in places)))
        return tuple(found)


def order_of(times: Sequence[int | None], shown: Sequence[bool], idr: Sequence[bool]) -> Order | None:
    """``times`` is when each packet is shown; None where a file does not say it of all, or says the same twice."""
    if any(time is None for time in times) or len({t for t, s in zip(times, shown, strict=True) if s}) < sum(shown):
        return None
    ranks = {
        time: rank
        for rank, time in enumerate(sorted(t for t, s in zip(times, shown, strict=True) if s and t is not None))
    }
    places = [ranks[time] if seen and time is not None else -1 for time, seen in zip(times, shown, strict=True)]
    return Order(np.array(places, dtype=np.int64), np.array(idr, dtype=np.bool_))


@dataclass(frozen=True)
class Copied:
    """Packets ``[first_packet, end_packet)`` of a file as they are. ``places`` are counted from the first picture."""

    file: int
    first_packet: int
    end_packet: int
    first_picture: int
    places: tuple[int, ...]

    @property
    def frames(self) -> int:
        return len(self.places)


@dataclass(frozen=True)
class Encoded:
    """Pictures of the take to be encoded anew."""

    strips: tuple[Played, ...]

    @property
    def frames(self) -> int:
        return sum(strip.frames for strip in self.strips)


Piece = Copied | Encoded | Held


def pieces_of(strips: Sequence[Strip], groups: Mapping[int, Sequence[Group]]) -> tuple[Piece, ...]:
    """The lesson as packets to copy, pictures to encode and pictures to hold. Strips count pictures."""
    pieces: list[Piece] = []
    for piece in (piece for strip in strips for piece in _split(strip, groups)):
        before = pieces[-1] if pieces else None
        if isinstance(piece, Encoded) and isinstance(before, Encoded):
            pieces[-1] = Encoded((*before.strips, *piece.strips))
        else:
            pieces.append(piece)
    return tuple(pieces)


def _split(strip: Strip, groups: Mapping[int, Sequence[Group]]) -> Iterator[Piece]:
    if isinstance(strip, Held):
        yield strip
        return
    at = strip.first
    for run in _runs(groups.get(strip.file, ()), strip):
        if run.first_picture > at:
            yield Encoded((Played(strip.file, at, run.first_picture),))
        yield run
        at = run.first_picture + run.frames
    if at < strip.last:
        yield Encoded((Played(strip.file, at, strip.last),))


def _runs(groups: Sequence[Group], strip: Played) -> Iterator[Copied]:
    """What can be copied inside the strip: groups that follow one another, the last as far as it goes."""
    run: Copied | None = None
    for group in groups:
        if group.first_picture < strip.first or group.first_picture >= strip.last:
            continue
        count = len(group.places) if group.end_picture <= strip.last else group.packets_until(strip.last)
        if run and (run.end_packet, run.first_picture + run.frames) == (group.first_packet, group.first_picture):
            places = tuple(run.frames + place for place in group.places[:count])
            run = Copied(strip.file, run.first_packet, run.end_packet + count, run.first_picture, run.places + places)
        else:
            if run and run.frames >= FEWEST_COPIED:
                yield run
            first = group.first_packet
            run = Copied(strip.file, first, first + count, group.first_picture, group.places[:count])
    if run and run.frames >= FEWEST_COPIED:
        yield run
