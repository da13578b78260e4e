"""How loud the take is, every 10 ms.

Arrays have one value a frame of ``HOP_MS``; frame ``i`` covers ``[i * HOP_MS, (i + 1) * HOP_MS)``. Levels are RMS in
dB relative to full scale, never below ``FLOOR_DB``.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

HOP_MS = 10
FLOOR_DB = -120.0

Decibels = NDArray[np.float32]
"""Shape (frames,), dBFS."""


@dataclass(frozen=True)
class Levels:
    """Two bands of one sound: the voice above rumble, and the hiss band where breath and s, f, sh lie."""

    voice_db: Decibels
    """After a 100 Hz high-pass."""
    hiss_db: Decibels
    """2.5 to 7.6 kHz."""

    @property
    def duration_ms(self) -> int:
        return len(self.voice_db) * HOP_MS
