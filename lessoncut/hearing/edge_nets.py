"""Small networks that were shown many ends of lines, and tell where one is: `tests/evaluation/fit_edges.py` fits them.

Each gives quantiles of how far behind its laid end a line ends (Koenker and Bassett 1978), since what a late end costs
is not what an early one does. Several of them, fitted from other beginnings, are asked, and their mean is taken.
"""

from __future__ import annotations

import io
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources

import numpy as np
from numpy.typing import NDArray

from lessoncut.hearing.edge_views import Views

QUANTILES = (0.5, 0.7, 0.8, 0.9, 0.95)
SIDES = ("start", "end")
UNIT_MS = 30
"""What the networks count in."""
FILE = "edge_nets.npz"

Layer = tuple[NDArray[np.float64], NDArray[np.float64]]
"""Weights of shape (networks, numbers in, numbers out), and what is added, (networks, numbers out)."""


@dataclass(frozen=True)
class EdgeNets:
    """The networks for one side of the lines."""

    layers: tuple[Layer, ...]

    def quantiles_ms(self, views: Views) -> NDArray[np.float64]:
        """How far each edge lies outside where it is looked from, shape (shifts, lines, len(QUANTILES))."""
        told = np.broadcast_to(views, (len(self.layers[0][0]), *views.shape))
        for at, (weights, added) in enumerate(self.layers):
            told = told @ weights[:, None] + added[:, None, None]
            if at + 1 < len(self.layers):
                told = np.maximum(told, 0)
        return np.asarray(told.mean(axis=0) * UNIT_MS)


def unpacked(arrays: Mapping[str, NDArray[np.generic]], side: str) -> EdgeNets:
    """Those of one side, as ``packed`` names their arrays."""
    layers = sum(name.startswith(f"{side} weights") for name in arrays)
    return EdgeNets(
        tuple(
            (arrays[f"{side} weights {at}"].astype(np.float64), arrays[f"{side} added {at}"].astype(np.float64))
            for at in range(layers)
        )
    )


def packed(nets: Mapping[str, EdgeNets]) -> dict[str, NDArray[np.float16]]:
    """By name, as they are kept."""
    return {
        f"{side} {name} {at}": array.astype(np.float16)
        for side, one in nets.items()
        for at, layer in enumerate(one.layers)
        for name, array in zip(("weights", "added"), layer, strict=True)
    }


@cache
def fitted(side: str) -> EdgeNets:
    """The ones lessoncut comes with."""
    kept = resources.files("lessoncut.hearing").joinpath(FILE).read_bytes()
    with np.load(io.BytesIO(kept)) as arrays:
        return unpacked(arrays, side)
