"""How likely it is that somebody speaks, every 32 ms: the Silero network that faster-whisper carries.

The sound goes through in blocks with the network's state and its 64 samples of context carried over, so that the
answer does not depend on the blocks and memory does not grow with the take.
"""

from __future__ import annotations

import numpy as np
from faster_whisper.vad import get_vad_model
from numpy.typing import NDArray

from lessoncut.progress import Progress, no_progress
from lessoncut.take.samples import RATE_HZ, Samples

WINDOW = 512
"""Samples a probability stands for: 32 ms."""
_CONTEXT = 64
_BLOCK_WINDOWS = 60 * RATE_HZ // WINDOW

Probabilities = NDArray[np.float32]
"""Shape (ceil(samples / WINDOW),), 0 to 1."""


def voice_probabilities(
    samples: Samples, progress: Progress = no_progress, block_windows: int = _BLOCK_WINDOWS
) -> Probabilities:
    """The probability of speech in every window; a last window that is not full is filled with zeros."""
    session = get_vad_model().session
    h = np.zeros((1, 1, 128), np.float32)
    c = np.zeros((1, 1, 128), np.float32)
    context = np.zeros(_CONTEXT, np.float32)
    found: list[Probabilities] = []
    block = block_windows * WINDOW
    for start in range(0, len(samples), block):
        piece: Probabilities = samples[start : start + block].astype(np.float32) / np.float32(32768)
        windows = np.pad(piece, (0, -len(piece) % WINDOW)).reshape(-1, WINDOW)
        before = np.vstack((context, windows[:-1, -_CONTEXT:]))
        probability, h, c = session.run(None, {"input": np.hstack((before, windows)), "h": h, "c": c})
        found.append(np.asarray(probability, np.float32).reshape(-1))
        context = windows[-1, -_CONTEXT:].copy()
        progress(min(1.0, (start + len(piece)) / len(samples)))
    return np.concatenate(found) if found else np.zeros(0, np.float32)
