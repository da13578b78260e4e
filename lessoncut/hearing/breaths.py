"""The breaths a speaker draws before she goes on. Each belongs to the line that follows, and is no part of its words.

A breath is soft and toneless, the network does not take it for a voice, and its sound is spread over the middle of the
spectrum: most of an s lies above it, and what is left of a vowel, or a closure with voice, below. Pure.
"""

from __future__ import annotations

import numpy as np

from lessoncut.hearing.heights import Heights, Mask, frames_of, runs
from lessoncut.hearing.voice import Probabilities
from lessoncut.take.levels import Decibels
from lessoncut.take.samples import RATE_HZ, Samples, cut
from lessoncut.times import Span, merged

LEAST_MS, MOST_MS = 90, 800
FLICKER_MS = 20
"""A hole in a soft sound that is shorter is none."""
LEAST_HOLE_MS, BEFORE_MS = 30, 500
"""How long it is quiet between a breath and the speech after it: a consonant stands closer to its vowel."""
UNDER_SPEECH_DB = 12.0
UNLIKELY = 0.35
"""Up to here the network takes nothing for speech."""
LOW_HZ, MIDDLE_HZ, HIGH_HZ = 100, 500, 5500
MOST_LOW, MOST_HIGH = 0.3, 0.4
"""The shares of a breath's power below the middle, and above."""


def breaths(
    samples: Samples, over: Heights, voice_db: Decibels, likely: Probabilities, marked: Mask
) -> tuple[Span, ...]:
    """The breaths of a take. ``likely`` and ``marked`` have the network's word on every frame."""
    speaks = marked & over.active
    if not speaks.any():
        return ()
    most_db = float(np.median(voice_db[speaks])) - UNDER_SPEECH_DB
    starts = [run.start_ms for run in runs(marked)]
    active = merged(runs(over.active), bridge_ms=FLICKER_MS)
    return tuple(
        run
        for run, after in zip(active, [*active[1:], None], strict=True)
        if LEAST_MS <= run.length_ms <= MOST_MS
        and (after is None or after.start_ms - run.end_ms >= LEAST_HOLE_MS)
        and any(0 <= start_ms - run.end_ms <= BEFORE_MS for start_ms in starts)
        and likely[frames_of(run)].max() < UNLIKELY
        and voice_db[frames_of(run)].max() <= most_db
        and _is_spread(cut(samples, run))
    )


def _is_spread(sound: Samples) -> bool:
    power = np.abs(np.fft.rfft(sound * np.hanning(len(sound)))) ** 2
    hz = np.fft.rfftfreq(len(sound), 1 / RATE_HZ)
    low, middle, high = (
        float(power[(hz >= from_hz) & (hz < to_hz)].sum())
        for from_hz, to_hz in ((LOW_HZ, MIDDLE_HZ), (MIDDLE_HZ, HIGH_HZ), (HIGH_HZ, RATE_HZ))
    )
    whole = low + middle + high
    return whole > 0 and low <= MOST_LOW * whole and high <= MOST_HIGH * whole
