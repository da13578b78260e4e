"""Small operations on mono float arrays at ``RATE`` samples a second."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import numpy.typing as npt
from scipy.linalg import solve_toeplitz
from scipy.signal import butter, lfilter, resample_poly, sosfiltfilt

Samples = npt.NDArray[np.float64]
RATE = 22050
EDGE_DEPTH_DB = 40.0
"""A reading starts and ends where its clean signal crosses this far below its loudest 10 ms."""

CORE_DEPTH_DB = 28.0


def count(seconds: float) -> int:
    return round(seconds * RATE)


def silence(seconds: float) -> Samples:
    return np.zeros(count(seconds))


def to_rate(samples: Samples, from_hz: int, to_hz: int = RATE) -> Samples:
    if from_hz == to_hz:
        return samples
    ratio = Fraction(to_hz, from_hz)
    return np.asarray(resample_poly(samples, ratio.numerator, ratio.denominator), dtype=np.float64)


def shifted(samples: Samples, factor: float) -> Samples:
    """Played ``factor`` times as fast: shorter, and pitch and formants higher alike."""
    ratio = Fraction(factor).limit_denominator(60)
    if ratio == 1:
        return samples
    return np.asarray(resample_poly(samples, ratio.denominator, ratio.numerator), dtype=np.float64)


def without_rumble(samples: Samples, below_hz: float = 50.0) -> Samples:
    """No offset and no rumble: some voices carry one at -40 dB, which would hide where they end."""
    return np.asarray(sosfiltfilt(butter(4, below_hz, "high", fs=RATE, output="sos"), samples), dtype=np.float64)


def running_rms(samples: Samples, window_s: float = 0.010) -> Samples:
    """RMS in a window centred on each sample."""
    width = count(window_s)
    padded = np.concatenate((np.zeros(width // 2 + 1), samples**2, np.zeros(width - width // 2)))
    total = np.cumsum(padded)
    return np.sqrt(np.maximum(total[width:] - total[:-width], 0.0) / width)[: len(samples)]


def speech_edges(samples: Samples, depth_db: float = EDGE_DEPTH_DB) -> tuple[int, int]:
    """First and one past the last sample whose 10 ms RMS lies within ``depth_db`` of the loudest one."""
    level = running_rms(samples)
    if not len(level) or level.max() <= 0:
        raise ValueError("there is no sound to find edges in")
    loud = np.flatnonzero(level > level.max() * 10 ** (-depth_db / 20))
    return int(loud[0]), int(loud[-1]) + 1


def faded(samples: Samples, in_s: float = 0.005, out_s: float = 0.005) -> Samples:
    out = samples.copy()
    rise, fall = min(count(in_s), len(out)), min(count(out_s), len(out))
    out[:rise] *= np.linspace(0, 1, rise, endpoint=False)
    out[len(out) - fall :] *= np.linspace(1, 0, fall)
    return out


def at_level(samples: Samples, dbfs: float) -> Samples:
    """Scaled so that the RMS of its louder parts (above a tenth of its loudest 10 ms) is ``dbfs``."""
    level = running_rms(samples)
    loud = samples[level > level.max() * 0.1]
    return np.asarray(samples * (10 ** (dbfs / 20) / np.sqrt(np.mean(loud**2))), dtype=np.float64)


def whispered(samples: Samples, rng: np.random.Generator, order: int = 22) -> Samples:
    """The same words without voice: each 20 ms frame's spectral envelope filled with noise."""
    width, hop = count(0.020), count(0.010)
    window = np.hanning(width)
    out = np.zeros(len(samples) + width)
    for at in range(0, len(samples) - width, hop):
        frame = samples[at : at + width] * window
        energy = float(np.sum(frame**2))
        if energy < 1e-7:
            continue
        auto = np.correlate(frame, frame, "full")[width - 1 : width + order]
        auto[0] *= 1.0001
        taps = solve_toeplitz(auto[:-1], auto[1:])
        voiced = lfilter([1.0], np.concatenate(([1.0], -taps)), rng.standard_normal(width)) * window
        out[at : at + width] += voiced * np.sqrt(energy / (np.sum(voiced**2) + 1e-12))
    thin = out[: len(samples)]
    return np.asarray(lfilter([1.0, -0.7], [1.0], thin), dtype=np.float64)
