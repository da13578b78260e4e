"""The take's sound as everything that listens gets it: one channel, 16 kHz, 16 bits."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lessoncut.times import Span

RATE_HZ = 16_000
PER_MS = RATE_HZ // 1000

Samples = NDArray[np.int16]
"""Shape (samples,); sample ``n`` is at ``n / PER_MS`` milliseconds of take time."""


def cut(samples: Samples, span: Span) -> Samples:
    """The samples inside the span, without a copy; what lies outside the take is left out."""
    return samples[max(0, span.start_ms) * PER_MS : max(0, span.end_ms) * PER_MS]
