"""The colour and the pitch of a voice in a stretch of sound, to tell a second speaker from the teacher.

Mel-frequency cepstral coefficients (Davis and Mermelstein 1980), averaged over the stretch's louder frames. Two
readings of one line by one speaker lie close together, since their sounds are the same; another speaker's reading of
it does not.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import cache, cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.fft import dct

from lessoncut.hearing.pitch import median_hz, pitch
from lessoncut.take.samples import RATE_HZ, Samples
from lessoncut.times import Span

_FRAME = RATE_HZ * 25 // 1000
_HOP = RATE_HZ // 100
_TRANSFORM = 512
_BANDS = 26
_COEFFICIENTS = 15
_LOW_HZ, _HIGH_HZ = 80, 7600
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
    own = samples[max(0, span.start_ms) * RATE_HZ // 1000 : span.end_ms * RATE_HZ // 1000]
    sound = own.astype(np.float64) / 32768
    if len(sound) < _FRAME + 5 * _HOP:
        return None
    frames = np.lib.stride_tricks.sliding_window_view(sound, _FRAME)[::_HOP] * np.hamming(_FRAME)
    level_db = 10 * np.log10((frames**2).mean(axis=1) + 1e-10)
    loud = frames[level_db > np.percentile(level_db, 95) - _LOUD_DB]
    power = np.abs(np.fft.rfft(loud, _TRANSFORM)) ** 2
    cepstrum = dct(np.log(power @ mel_bands().T + 1e-8), axis=1, norm="ortho")[:, 1 : _COEFFICIENTS + 1]
    return Timbre(tuple(float(value) for value in cepstrum.mean(axis=0)), own)


@cache
def mel_bands() -> NDArray[np.float64]:
    """Triangular filters on the mel scale, shape (bands, bins)."""
    low, high = (1127 * np.log1p(hz / 700) for hz in (_LOW_HZ, _HIGH_HZ))
    corners = 700 * np.expm1(np.linspace(low, high, _BANDS + 2) / 1127)
    bins = np.fft.rfftfreq(_TRANSFORM, 1 / RATE_HZ)
    rising = (bins - corners[:-2, None]) / (corners[1:-1] - corners[:-2])[:, None]
    falling = (corners[2:, None] - bins) / (corners[2:] - corners[1:-1])[:, None]
    return np.asarray(np.clip(np.minimum(rising, falling), 0, None))
