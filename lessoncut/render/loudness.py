"""How loud a programme is, by ITU-R BS.1770: integrated, momentary and short-term loudness, and true peak.

Sound comes as float arrays of shape (samples, channels), full scale 1.0, at 48 kHz, chunk by chunk. One or two
channels, each with weight 1.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import resample_poly, sosfilt

from lessoncut.render.gating import HOP_MS, integrated_lufs, most_momentary_lufs, most_short_term_lufs
from lessoncut.render.samples import RATE_HZ, Chunk, samples_at

_HOP = samples_at(HOP_MS)
_OVERSAMPLING = 4
_OVERLAP = 64
_PEAK_STEP = RATE_HZ // 10
HIGHEST_OVERSHOOT = 2.0
"""The true peak is at most this many times the highest sample near it: 3 dB for a sine at a quarter of the sampling
rate, its worst case; twice that to be sure."""

# The two K-weighting stages for 48 kHz, as the recommendation prints them: a high shelf and a high-pass.
_K_WEIGHTING = np.array(
    [
        [1.53512485958697, -2.69169618940638, 1.19839281085285, 1.0, -1.69065929318241, 0.73248077421585],
        [1.0, -2.0, 1.0, 1.0, -1.99004745483398, 0.99007225036621],
    ]
)


@dataclass(frozen=True)
class Loudness:
    """Levels in LUFS and dBTP; minus infinity where nothing is over the gate."""

    integrated_lufs: float
    most_momentary_lufs: float
    most_short_term_lufs: float
    true_peak_dbtp: float


def measure(chunks: Iterable[Chunk]) -> Loudness:
    """The loudness of a programme, read once from start to end."""
    meter = Meter()
    for chunk in chunks:
        meter.add(chunk)
    return meter.result()


class Meter:
    """Takes a programme in chunks of any length."""

    def __init__(self) -> None:
        self._state: NDArray[np.float64] | None = None
        self._rest = np.zeros((0, 0))
        self._hops: list[NDArray[np.float64]] = []
        self._tail: Chunk | None = None
        self._peak = 0.0
        self._seen = 0

    def add(self, chunk: Chunk) -> None:
        """Raises ValueError when the number of channels changes or is not one or two."""
        if chunk.ndim != 2 or chunk.shape[1] not in (1, 2):
            raise ValueError(f"expected one or two channels, got shape {chunk.shape}")
        sound = chunk.astype(np.float64)
        self._add_peak(chunk)
        if self._state is None:
            self._state = np.zeros((len(_K_WEIGHTING), 2, sound.shape[1]))
            self._rest = np.zeros((0, sound.shape[1]))
        weighted, self._state = sosfilt(_K_WEIGHTING, sound, axis=0, zi=self._state)
        power = np.concatenate((self._rest, weighted**2))
        whole = len(power) // _HOP * _HOP
        self._hops.append(power[:whole].reshape(-1, _HOP, power.shape[1]).mean(axis=1).sum(axis=1))
        self._rest = power[whole:]

    def _add_peak(self, sound: Chunk, *, last: bool = False) -> None:
        """Looks at all but the newest samples, which wait for what follows: a cut is an edge that is not there."""
        joined = sound if self._tail is None else np.concatenate((self._tail, sound))
        begin, end = min(self._seen, _OVERLAP), len(joined) if last else len(joined) - _OVERLAP
        for start in range(begin, end, _PEAK_STEP):
            stop, before = min(start + _PEAK_STEP, end), max(0, start - _OVERLAP)
            if float(np.abs(joined[start : stop + 1]).max()) * HIGHEST_OVERSHOOT > self._peak:
                peaks = oversampled_peaks(joined[before : stop + _OVERLAP])
                self._peak = max(self._peak, float(peaks[start - before : stop - before].max()))
        self._seen += max(0, end - begin)
        self._tail = joined[max(0, max(begin, end) - _OVERLAP) :]

    def result(self) -> Loudness:
        """What was added so far; nothing may be added afterwards."""
        if self._tail is not None:
            self._add_peak(self._tail[:0], last=True)
        hops = np.concatenate(self._hops) if self._hops else np.zeros(0)
        return Loudness(
            integrated_lufs=integrated_lufs(hops),
            most_momentary_lufs=most_momentary_lufs(hops),
            most_short_term_lufs=most_short_term_lufs(hops),
            true_peak_dbtp=20 * math.log10(self._peak) if self._peak > 0 else -math.inf,
        )


def oversampled_peaks(sound: Chunk) -> Chunk:
    """The highest level from every sample to the next, all channels together, four times oversampled."""
    finer = np.abs(resample_poly(sound, _OVERSAMPLING, 1, axis=0)).max(axis=1)
    return np.asarray(finer.reshape(-1, _OVERSAMPLING).max(axis=1), dtype=np.float32)
