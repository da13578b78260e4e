"""How the channels of a file become one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lessoncut.take.samples import Samples

DEAD_DB = 20.0
"""A channel this far under the loudest carries no microphone of its own and would only halve the level."""

CANCEL_DB = 6.0
"""Channels whose mean is this far under the loudest cancel each other: one was wired the wrong way round."""

Block = NDArray[np.int16]
"""Shape (samples, channels)."""


@dataclass(frozen=True)
class Mix:
    """One weight and one constant offset a channel; the offsets are taken away first."""

    weights: NDArray[np.float64]
    offsets: NDArray[np.float64]

    def apply(self, block: Block) -> Samples:
        mixed = (block - self.offsets) @ self.weights
        limits = np.iinfo(np.int16)
        return np.clip(np.rint(mixed), limits.min, limits.max).astype(np.int16)


class ChannelTally:
    """Sums over all samples, block by block, from which the mix is chosen."""

    def __init__(self, channels: int) -> None:
        self._count = 0
        self._sums = np.zeros(channels)
        self._products = np.zeros((channels, channels))

    def add(self, block: Block) -> None:
        exact = block.astype(np.float64)
        self._count += len(exact)
        self._sums += exact.sum(axis=0)
        self._products += exact.T @ exact

    def mix(self) -> Mix:
        """The mean of the live channels, or the loudest alone where they cancel; no constant offset is left."""
        count = max(1, self._count)
        offsets = self._sums / count
        covariance = self._products / count - np.outer(offsets, offsets)
        powers = np.maximum(np.diag(covariance), 0.0)
        live = powers >= powers.max() * 10 ** (-DEAD_DB / 10)
        mean = live / live.sum()
        if mean @ covariance @ mean < powers.max() * 10 ** (-CANCEL_DB / 10):
            mean = (np.arange(len(powers)) == powers.argmax()).astype(np.float64)
        return Mix(mean, offsets)
