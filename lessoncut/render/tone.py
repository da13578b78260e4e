"""Room tone: the sound of the room when nobody speaks, taken from the take itself.

Arrays are float32 of shape (samples, channels) at ``loudness.RATE_HZ``.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from lessoncut.render.loudness import RATE_HZ, Chunk
from lessoncut.times import Span

_BLOCK = RATE_HZ // 50
SHORTEST_MS = 300
LONGEST_MS = 3000
KEEP_OFF_MS = 120
"""How far from speech the tone is taken: breath and reverberation end there."""
JOIN_MS = 60
FAINTEST = 10 ** (-80 / 20)
"""A take whose pauses are digital silence gets noise of this level: never digital silence."""


def quiet_spans(duration_ms: int, sounding: Sequence[Span]) -> tuple[Span, ...]:
    """Where the take holds neither speech nor another sound, well away from both; ``sounding`` is in time order."""
    spans = []
    at_ms = 0
    for span in [*sounding, Span(duration_ms, duration_ms)]:
        start_ms, end_ms = at_ms + (KEEP_OFF_MS if at_ms else 0), span.start_ms - KEEP_OFF_MS
        if end_ms - start_ms >= SHORTEST_MS:
            spans.append(Span(start_ms, end_ms))
        at_ms = max(at_ms, span.end_ms)
    return tuple(spans)


def samples_at(at_ms: int) -> int:
    return at_ms * RATE_HZ // 1000


def choose_tone(sound: Chunk, quiet: Sequence[Span]) -> Chunk:
    """The steadiest stretch among the quiet ones, at most ``LONGEST_MS`` long.

    ``sound`` is the whole take (any array-like that slices). Steadiest: the smallest difference between the loudest
    20 ms and the middle one, so that no click or breath is looped.
    """
    best: tuple[float, Chunk] | None = None
    for span in quiet:
        piece = np.asarray(sound[samples_at(span.start_ms) : samples_at(span.end_ms)], dtype=np.float32)
        length = min(len(piece), samples_at(LONGEST_MS))
        for start in range(0, len(piece) - length + 1, max(1, length // 2)):
            part = piece[start : start + length]
            blocks = block_rms(part)
            if not len(blocks):
                continue
            middle = float(np.median(blocks))
            # Longer is better at equal steadiness: a short loop is heard as a rhythm.
            badness = float(blocks.max()) / max(middle, 1e-9) - 0.2 * length / samples_at(LONGEST_MS)
            if best is None or badness < best[0]:
                best = (badness, part)
    channels = sound.shape[1]
    if best is None or float(np.sqrt(np.mean(best[1] ** 2))) < FAINTEST / 4:
        noise = np.random.default_rng(0).standard_normal((samples_at(LONGEST_MS), channels))
        return (noise * FAINTEST).astype(np.float32)
    return best[1]


def block_rms(sound: Chunk) -> Chunk:
    """RMS of every 20 ms, all channels together, shape (blocks,)."""
    whole = len(sound) // _BLOCK * _BLOCK
    blocks = sound[:whole].reshape(-1, _BLOCK * sound.shape[1])
    return np.asarray(np.sqrt((blocks**2).mean(axis=1)), dtype=np.float32)


def looped(tone: Chunk, length: int) -> Chunk:
    """The tone over and over, each joint crossfaded at equal power, as long as asked."""
    join = min(samples_at(JOIN_MS), len(tone) // 3)
    if length <= len(tone) - join:
        return tone[:length].copy()
    step = len(tone) - join
    fade_in = np.sin(np.linspace(0, np.pi / 2, join, dtype=np.float32))[:, None]
    ring = tone[:step].copy()
    # The end of the tone runs into its own beginning, so that the ring closes without a seam.
    ring[:join] = ring[:join] * fade_in + tone[step:] * fade_in[::-1]
    times = -(-length // step)
    return np.tile(ring, (times, 1))[:length]
