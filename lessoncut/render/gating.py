"""The gates of ITU-R BS.1770: how loud a programme is as a whole, from its power every 10 ms.

Powers are mean squares, all channels together, of sound that was weighted as the recommendation has it.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Powers = NDArray[np.float64]
"""Shape (hops,)."""

HOP_MS = 10
"""Fine enough for the momentary maximum (EBU Tech 3341 signal 13 fails at the 100 ms of the gating block)."""
ABSOLUTE_GATE_LUFS = -70.0
RELATIVE_GATE_LU = -10.0
_OFFSET_LU = -0.691
_BLOCK_HOPS = 40
_BLOCK_STEP = 10
_SHORT_TERM_HOPS = 300


def integrated_lufs(hops: Powers) -> float:
    """Gated twice: blocks under -70 LUFS are left out, then those 10 LU under the mean of the rest.

    Minus infinity where nothing is over the gate.
    """
    blocks = _running_mean(hops, _BLOCK_HOPS)[::_BLOCK_STEP]
    loud = blocks[blocks > 10 ** ((ABSOLUTE_GATE_LUFS - _OFFSET_LU) / 10)]
    if not len(loud):
        return -math.inf
    gate = loud.mean() * 10 ** (RELATIVE_GATE_LU / 10)
    return _lufs(float(loud[loud > gate].mean()))


def most_momentary_lufs(hops: Powers) -> float:
    return _most(hops, _BLOCK_HOPS)


def most_short_term_lufs(hops: Powers) -> float:
    return _most(hops, _SHORT_TERM_HOPS)


def _most(hops: Powers, length: int) -> float:
    return _lufs(float(_running_mean(hops, length).max(initial=0.0)))


def _lufs(power: float) -> float:
    return _OFFSET_LU + 10 * math.log10(power) if power > 0 else -math.inf


def _running_mean(hops: Powers, length: int) -> Powers:
    if len(hops) < length:
        return np.zeros(0)
    total = np.concatenate((np.zeros(1), np.cumsum(hops)))
    return np.asarray((total[length:] - total[:-length]) / length)
