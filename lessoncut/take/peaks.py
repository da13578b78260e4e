"""The outline of the sound, for drawing it at any zoom.

The bytes are made for a typed array in a browser. Little-endian:

    8 bytes   "lcpeaks1"
    uint32    milliseconds a pair at the finest level
    uint32    how many levels
    uint32    pairs in each level, finest first
    int8      the pairs of each level, finest first: lowest, highest; full scale is -128 to 127

Each level has a quarter of the pairs of the one before. Pairs are rounded outwards: what is not silent can be seen.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lessoncut.take.samples import PER_MS, Samples

HOP_MS = 10
COARSER = 4
FEWEST_PAIRS = 256
"""A level with no more pairs than this fits on any screen; it is the last."""

MAGIC = b"lcpeaks1"

Pairs = NDArray[np.int8]
"""Shape (pairs, 2): lowest and highest."""

_CHUNK_HOPS = 6000


@dataclass(frozen=True)
class Peaks:
    """The levels, finest first."""

    levels: tuple[Pairs, ...]

    def hop_ms(self, level: int) -> int:
        return HOP_MS * int(COARSER**level)


def outline(samples: Samples) -> Peaks:
    """The peaks of the whole take."""
    hop = HOP_MS * PER_MS
    starts = range(0, len(samples), _CHUNK_HOPS * hop)
    chunks = [_pairs(samples[start : start + _CHUNK_HOPS * hop], hop) for start in starts]
    levels = [np.concatenate(chunks) if chunks else np.zeros((0, 2), np.int8)]
    while len(levels[-1]) > FEWEST_PAIRS:
        levels.append(_coarser(levels[-1]))
    return Peaks(tuple(levels))


def to_bytes(peaks: Peaks) -> bytes:
    counts = [len(level) for level in peaks.levels]
    header = struct.pack(f"<8sII{len(counts)}I", MAGIC, HOP_MS, len(counts), *counts)
    return header + b"".join(level.tobytes() for level in peaks.levels)


def from_bytes(content: bytes) -> Peaks:
    """Raises ValueError when these are not the bytes of ``to_bytes``."""
    head = struct.calcsize("<8sII")
    if len(content) < head:
        raise ValueError("too short for peaks")
    magic, hop_ms, count = struct.unpack_from("<8sII", content)
    if (magic, hop_ms) != (MAGIC, HOP_MS) or len(content) < head + 4 * count:
        raise ValueError("not peaks of this version")
    counts = struct.unpack_from(f"<{count}I", content, head)
    if len(content) != head + 4 * count + 2 * sum(counts):
        raise ValueError("peaks that are cut off, or followed by something else")
    pairs = np.frombuffer(content, np.int8, offset=head + 4 * count).reshape(-1, 2)
    return Peaks(tuple(np.split(pairs, np.cumsum(counts)[:-1])) if count else ())


def _pairs(samples: Samples, hop: int) -> Pairs:
    starts = np.arange(0, len(samples), hop)
    lowest = np.minimum.reduceat(samples, starts) >> 8
    highest = -(-np.maximum.reduceat(samples, starts).astype(np.int32) >> 8)
    return np.stack([lowest, np.minimum(highest, 127)], axis=1).astype(np.int8)


def _coarser(pairs: Pairs) -> Pairs:
    starts = np.arange(0, len(pairs), COARSER)
    lowest = np.minimum.reduceat(pairs[:, 0], starts)
    return np.stack([lowest, np.maximum.reduceat(pairs[:, 1], starts)], axis=1)
