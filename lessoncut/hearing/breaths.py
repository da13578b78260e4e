"""The breaths a speaker draws before she goes on. Each belongs to the line that follows, and is no part of its words.

A breath is soft and toneless, the network does not take it for a voice, and its sound is spread over the middle of the
spectrum: most of an s lies above it, and what is left of a vowel, or a closure with voice, below. Pure.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from itertools import pairwise

import numpy as np

from lessoncut.hearing.heights import Heights, Mask, frames_of, runs
from lessoncut.hearing.voice import Probabilities
from lessoncut.take.levels import Decibels
from lessoncut.take.samples import RATE_HZ, Samples, cut
from lessoncut.times import Span, merged

LEAST_MS, MOST_MS = 90, 800
FLICKER_MS = 20
"""A hole in a soft sound that is shorter is none."""
LEAST_HOLE_MS, BEFORE_MS = 30, 300
"""How long it is quiet between a breath and the speech after it: a consonant stands closer to its vowel, and the
turning of a page further away."""
LOUD_PERCENTILE, UNDER_LOUD_DB = 90, 12.0
"""Under the level that a tenth of all speech is louder than: the vowels of whoever speaks loudest. A learner beside the
teacher, who is fainter, moves it little."""
UNLIKELY = 0.6
"""Up to here the network is not sure of speech."""
BANDS_HZ = (100, 500, 1500, 5500, RATE_HZ // 2)
MOST_LOW, LEAST_MIDDLE, MOST_HIGH = 0.4, 0.12, 0.4
"""Shares of a breath's power: in the lowest of these bands, in the one above, where paper has next to none, and in the
highest."""


def breaths(
    samples: Samples, over: Heights, voice_db: Decibels, likely: Probabilities, marked: Mask
) -> tuple[Span, ...]:
    """The breaths of a take. ``likely`` and ``marked`` have the network's word on every frame."""
    speaks = marked & over.active
    if not speaks.any():
        return ()
    most_db = float(np.percentile(voice_db[speaks], LOUD_PERCENTILE)) - UNDER_LOUD_DB
    active = merged(runs(over.active), bridge_ms=FLICKER_MS)
    spoken = [run for run in active if marked[frames_of(run)].any()]
    starts = sorted(run.start_ms for run in (*spoken, *runs(marked)))
    return tuple(
        run
        for run, after in zip(active, [*active[1:], None], strict=True)
        if LEAST_MS <= run.length_ms <= MOST_MS
        and (after is None or after.start_ms - run.end_ms >= LEAST_HOLE_MS)
        and bisect_left(starts, run.end_ms) < bisect_right(starts, run.end_ms + BEFORE_MS)
        and likely[frames_of(run)].max() < UNLIKELY
        and voice_db[frames_of(run)].max() <= most_db
        and is_spread(cut(samples, run))
    )


def is_spread(sound: Samples) -> bool:
    """Whether its power is spread as a breath's is."""
    power = np.abs(np.fft.rfft(sound * np.hanning(len(sound)))) ** 2
    hz = np.fft.rfftfreq(len(sound), 1 / RATE_HZ)
    low, middle, upper, high = (float(power[(hz >= a) & (hz < b)].sum()) for a, b in pairwise(BANDS_HZ))
    whole = low + middle + upper + high
    return low <= MOST_LOW * whole and middle >= LEAST_MIDDLE * whole and high <= MOST_HIGH * whole
