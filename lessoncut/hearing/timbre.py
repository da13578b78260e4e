"""The colour and the pitch of a voice in a stretch of sound, to tell a second speaker from the teacher.

Mel-frequency cepstral coefficients, averaged over the stretch's louder frames. Two
readings of one line by one speaker lie close together, since their sounds are the same; another speaker's reading of
it does not.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from lessoncut.hearing import mel
from lessoncut.hearing.pitch import median_hz, pitch
from lessoncut.take.samples import RATE_HZ, Samples, cut
from lessoncut.times import Span

_COEFFICIENTS = 15
_LOUD_DB = 25
SHORTEST_MS = 150
CLEAR_FROM, CLEAR_TO = 0.3, 0.8
"""Between these the colour alone leaves it open whether two readings of one line are one speaker's."""
OWN_SEMITONES, WORTH_NEARER, WORTH_FURTHER, MOST_WORTH = 1.0, 0.25, 0.06, 0.6
"""One speaker's readings of a line lie less apart; what each semitone nearer and further is worth. An octave is worth
no more than some: the pitch of a noisy stretch may be one octave wrong."""


@dataclass(frozen=True)
class Timbre:
    """Mean coefficients 1 to 15; the first one, the level, is left out."""

    coefficients: tuple[float, ...]
    sound: Samples | None = field(default=None, compare=False, repr=False)

    def distance(self, other: Timbre) -> float:
        """Root mean square difference; up to about 0.4 for one speaker and one text."""
        return math.dist(self.coefficients, other.coefficients) / math.sqrt(len(self.coefficients))

    def apart(self, other: Timbre) -> float:
        """The distance, with what the pitch says where that leaves it open."""
        distance = self.distance(other)
        if not CLEAR_FROM < distance < CLEAR_TO or self.pitch_hz is None or other.pitch_hz is None:
            return distance
        further = abs(12 * math.log2(self.pitch_hz / other.pitch_hz)) - OWN_SEMITONES
        return distance + min(MOST_WORTH, further * (WORTH_FURTHER if further > 0 else WORTH_NEARER))

    @cached_property
    def pitch_hz(self) -> float | None:
        """The middle one; looked for only when asked."""
        return None if self.sound is None else median_hz(pitch(self.sound / np.float64(32_768), RATE_HZ))


def timbre(samples: Samples, span: Span) -> Timbre | None:
    """The timbre of a stretch of the take; None where it is too short to tell."""
    if span.length_ms < SHORTEST_MS:
        return None
    own = cut(samples, span)
    sound = own.astype(np.float64) / 32768
    if len(sound) < mel.FRAME + 5 * mel.HOP:
        return None
    frames = mel.frames(sound) * np.hamming(mel.FRAME)
    level_db = 10 * np.log10((frames**2).mean(axis=1) + 1e-10)
    loud = frames[level_db > np.percentile(level_db, 95) - _LOUD_DB]
    cepstrum = mel.cepstra(mel.band_powers(loud), 1e-8)[:, 1 : _COEFFICIENTS + 1]
    return Timbre(tuple(float(value) for value in cepstrum.mean(axis=0)), own)
