"""The lesson's sound as everything that makes it gets it: 48 kHz, floating point."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

RATE_HZ = 48_000

Chunk = NDArray[np.float32]
"""Shape (samples, channels), full scale 1.0."""


def samples_at(at_ms: int) -> int:
    return at_ms * RATE_HZ // 1000
