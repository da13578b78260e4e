"""Room tone: the sound of the room when nobody speaks, taken from the take itself.

Arrays are float32 of shape (samples, channels) at ``samples.RATE_HZ``.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from lessoncut.render.samples import RATE_HZ, Chunk, samples_at
from lessoncut.render.tracks import Track
from lessoncut.times import Span

SHORTEST_MS = 300
LONGEST_MS = 3000
_LENGTHS_MS = (LONGEST_MS, 1200, SHORTEST_MS)
KEEP_OFF_MS = 120
"""How far from speech the tone is taken: breath and reverberation end there."""
JOIN_MS = 60
FAINTEST = 10 ** (-80 / 20)
"""A take whose pauses are digital silence gets noise of this level: never digital silence."""
MOST_MATCHING = 2.0
"""The tone is turned up or down by at most this for the place it fills: 6 dB."""

_BLOCK = RATE_HZ // 50
_MOST_CANDIDATES = 40
_NEAR_MS = 1000
"""How much quiet near a place tells its level."""


def quiet_spans(duration_ms: int, sounding: Sequence[Span]) -> tuple[Span, ...]:
    """Where a file holds neither speech nor another sound, well away from both; ``sounding`` is in time order."""
    spans = []
    at_ms = 0
    for span in [*sounding, Span(duration_ms, duration_ms)]:
        start_ms, end_ms = at_ms + (KEEP_OFF_MS if at_ms else 0), span.start_ms - KEEP_OFF_MS
        if end_ms - start_ms >= SHORTEST_MS:
            spans.append(Span(start_ms, end_ms))
        at_ms = max(at_ms, span.end_ms)
    return tuple(spans)


@dataclass(frozen=True)
class Tone:
    """A ring of room tone without a seam, and the quiet of its file, by which it is matched to a place.

    ``made`` says that the file has no room tone and this is noise instead.
    """

    ring: Chunk
    level: float
    made: bool
    track: Track
    quiet: tuple[Span, ...]

    def cut(self, start: int, end: int) -> Chunk:
        """Any samples, as if the tone had gone on for ever."""
        return self.ring[np.arange(start, end) % len(self.ring)]

    def gain_near(self, at_ms: int) -> float:
        """What brings the tone to the level of the quiet around that time of its file."""
        near = min(self.quiet, key=lambda span: span.gap_to_ms(Span(at_ms, at_ms)), default=None)
        if near is None or self.made:
            return 1.0
        middle_ms = min(max(at_ms, near.start_ms + _NEAR_MS // 2), max(near.end_ms - _NEAR_MS // 2, near.start_ms))
        span = Span(middle_ms - _NEAR_MS // 2, middle_ms + _NEAR_MS // 2).clipped(near)
        level = float(np.median(block_rms(self.track.cut(samples_at(span.start_ms), samples_at(span.end_ms)))))
        return min(max(level / self.level, 1 / MOST_MATCHING), MOST_MATCHING)


def tone_of(track: Track, sounding: Sequence[Span]) -> Tone:
    """The room tone of one file; ``sounding`` is in the file's own time."""
    quiet = quiet_spans(len(track) * 1000 // RATE_HZ, sounding)
    found = _steadiest(track, quiet)
    level = float(np.median(block_rms(found))) if found is not None else 0.0
    if found is None or level < FAINTEST / 4:
        noise = np.random.default_rng(0).standard_normal((samples_at(LONGEST_MS), track.channels))
        return Tone((noise * FAINTEST).astype(np.float32), FAINTEST, True, track, quiet)
    return Tone(_ring(found), level, False, track, quiet)


def _steadiest(track: Track, quiet: Sequence[Span]) -> Chunk | None:
    """The stretch whose loudest 20 ms stands out least from its middle one: no click or breath is looped.

    Longer is better at equal steadiness: a short loop is heard as a rhythm.
    """

    def badness(part: Chunk) -> float:
        blocks = block_rms(part)
        return float(blocks.max()) / max(float(np.median(blocks)), 1e-9) - 0.2 * len(part) / samples_at(LONGEST_MS)

    return min(_candidates(track, quiet), key=badness, default=None)


def _candidates(track: Track, quiet: Sequence[Span]) -> Iterator[Chunk]:
    """Stretches of several lengths, so that a click in the middle of a pause leaves its two sides."""
    longest = sorted(quiet, key=lambda span: -span.length_ms)[:_MOST_CANDIDATES]
    for span in longest:
        start, end = samples_at(span.start_ms), samples_at(min(span.end_ms, span.start_ms + 4 * LONGEST_MS))
        for length in (samples_at(ms) for ms in _LENGTHS_MS if ms <= span.length_ms):
            for at in range(start, end - length + 1, length // 2):
                yield track.cut(at, at + length)


def block_rms(sound: Chunk) -> Chunk:
    """RMS of every 20 ms, all channels together, shape (blocks,); at least one block."""
    whole = max(1, len(sound) // _BLOCK)
    padded = sound[: whole * _BLOCK] if len(sound) >= _BLOCK else np.pad(sound, ((0, _BLOCK - len(sound)), (0, 0)))
    return np.asarray(np.sqrt((padded.reshape(whole, -1) ** 2).mean(axis=1)), dtype=np.float32)


def _ring(tone: Chunk) -> Chunk:
    """The tone with its end run into its beginning, crossfaded at equal power."""
    join = min(samples_at(JOIN_MS), len(tone) // 3)
    ring = tone[: len(tone) - join].copy()
    fade_in = np.sin(np.linspace(0, np.pi / 2, join, dtype=np.float32))[:, None]
    ring[:join] = ring[:join] * fade_in + tone[len(tone) - join :] * fade_in[::-1]
    return ring
