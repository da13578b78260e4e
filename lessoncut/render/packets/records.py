"""A picture track, frame by frame."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from hashlib import blake2b
from typing import Any

import numpy as np
from numpy.typing import NDArray

AROUND = 2
"""Frames on a side of a join that are looked at when the track is checked."""

Pixels = NDArray[Any]
"""One frame's samples as PyAV lays them out."""


@dataclass(frozen=True)
class Coded:
    """One frame as a packet with lengths of four bytes. ``place`` is when it is shown, counted from its piece's first
    frame; packets of a piece come in decoding order, and each piece stands by itself."""

    content: bytes
    place: int
    key: bool

    @property
    def digest(self) -> bytes:
        return digest_of(self.content)


@dataclass(frozen=True)
class Expected:
    """What a finished track must hold, in decoding order: (lesson frame, digest of the packet)."""

    packets: tuple[tuple[int, bytes], ...]

    @property
    def frames(self) -> int:
        return len(self.packets)


def glimpse(pixels: Pixels) -> Pixels:
    """Every eighth row and column: enough to know a picture again."""
    return np.ascontiguousarray(pixels[::8, ::8])


def delay_of(places: Sequence[int]) -> int:
    """How many frames later than it is decoded a frame is shown at most; ``places`` are in decoding order."""
    return max((number - place for number, place in enumerate(places)), default=0)


def digest_of(content: bytes) -> bytes:
    """By which a packet is known again."""
    return blake2b(content, digest_size=16).digest()
