"""The pitch of a voice, every 10 ms.

The tracker follows P. Boersma, "Accurate short-term analysis of the fundamental frequency and the harmonics-to-noise
ratio of a sampled sound" (Proceedings of the Institute of Phonetic Sciences 17, 1993): candidates are the peaks of
the windowed autocorrelation divided by the window's own, and the cheapest path through them wins.

Arrays have one value a frame; frame ``i`` stands at ``(i + 0.5) * HOP_MS``. Unvoiced frames are NaN.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

HOP_MS = 10
CANDIDATES = 10
VOICING = 0.45
"""Autocorrelation a voiced frame has to reach."""
SILENCE = 0.03
"""Peak, as a share of the sound's loudest, under which a frame is taken for silence."""
OCTAVE_COST = 0.02
JUMP_COST = 0.35
"""For each octave between neighbouring frames."""
VOICING_COST = 0.14
"""For each change between voiced and unvoiced."""
MOST_STEP = 1 / 3
"""Octaves from one frame to the next; no voice glides so fast (Xu and Sun 2002: 80 ms an octave; from memory)."""
SLIP = 0.8
"""Octaves from which a stretch is taken for one that slipped by an octave."""
NEAR_FRAMES = 5
"""A stretch that begins so soon after another has to go on where that one ended."""
SHORTEST_RUN = 3
"""Frames; a shorter voiced stretch is more often a click than a vowel."""

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class PitchRange:
    """Where a voice is looked for, in Hz."""

    low_hz: float
    high_hz: float


WIDE = PitchRange(70.0, 450.0)


def pitch(samples: NDArray[np.floating], rate_hz: int) -> Floats:
    """The pitch of one voice in Hz: tracked twice, the second time within the voice's own range, and smoothed."""
    first = track(samples, rate_hz, WIDE)
    return smoothed(track(samples, rate_hz, range_of(first)))


def range_of(hz: Floats) -> PitchRange:
    """The voice's own range: from 3/4 of the lower quartile to twice the upper one.

    After De Looze and Hirst (2008), whose upper limit is 1.5 times; reading to learners swings wider (from memory).
    """
    voiced = hz[np.isfinite(hz)]
    if len(voiced) < 2 * SHORTEST_RUN:
        return WIDE
    lower, upper = np.quantile(voiced, [0.25, 0.75])
    return PitchRange(max(50.0, 0.75 * float(lower)), min(600.0, 2.0 * float(upper)))


def track(samples: NDArray[np.floating], rate_hz: int, within: PitchRange = WIDE) -> Floats:
    """The pitch in Hz of mono ``samples``, one value a frame, NaN where unvoiced."""
    sound = np.asarray(samples, dtype=np.float64)
    frames = len(sound) * 1000 // (rate_hz * HOP_MS)
    if frames == 0 or not sound.any():
        return np.full(frames, np.nan)
    likeness, peak = _autocorrelation(sound, rate_hz, within, frames)
    strength, hz = _candidates(likeness, rate_hz, within)
    loudest = float(np.quantile(np.abs(sound), 0.999)) or 1e-9
    unvoiced = VOICING + np.maximum(0.0, 2.0 - peak / loudest * (1 + VOICING) / SILENCE)
    return _cheapest_path(strength, hz, unvoiced)


def _autocorrelation(sound: Floats, rate_hz: int, within: PitchRange, frames: int) -> tuple[Floats, Floats]:
    """Normalised autocorrelation (frames, lags) and each frame's peak near its middle."""
    size = 2 * round(1.5 * rate_hz / within.low_hz)
    hop = rate_hz * HOP_MS // 1000
    windows = sliding_window_view(np.pad(sound, size // 2), size)[hop // 2 :: hop][:frames]
    windows = windows - windows.mean(axis=1, keepdims=True)
    half_period = round(0.5 * rate_hz / within.low_hz)
    peak = np.abs(windows[:, size // 2 - half_period : size // 2 + half_period]).max(axis=1)
    taper = np.hanning(size)
    padded = 1 << math.ceil(math.log2(1.5 * size))

    def correlate(rows: Floats) -> Floats:
        power = np.abs(np.fft.rfft(rows * taper, padded)) ** 2
        lags: Floats = np.fft.irfft(power)[:, : size // 2 + 2]
        return lags / np.maximum(lags[:, :1], 1e-12)

    return correlate(windows) / correlate(np.ones((1, size))), peak


def _candidates(likeness: Floats, rate_hz: int, within: PitchRange) -> tuple[Floats, Floats]:
    """Each frame's strongest autocorrelation peaks: strength (frames, CANDIDATES; -inf where none) and Hz."""
    first, last = int(rate_hz / within.high_hz), math.ceil(rate_hz / within.low_hz)
    middle, before, after = (likeness[:, first + shift : last + shift] for shift in (0, -1, 1))
    slope, bend = (before - after) / 2, before + after - 2 * middle
    bend = np.where(bend < -1e-9, bend, -1.0)
    hz = rate_hz / (np.arange(first, last) + np.clip(slope / bend, -0.5, 0.5))
    height = middle - slope**2 / (2 * bend)
    height = np.where(height > 1, 1 / np.maximum(height, 1), height)
    is_peak = (middle > before) & (middle >= after) & (middle > VOICING / 2)
    strength = np.where(is_peak, height + OCTAVE_COST * np.log2(hz / within.low_hz), -np.inf)
    best = np.argsort(-strength, axis=1)[:, :CANDIDATES]
    return np.take_along_axis(strength, best, axis=1), np.take_along_axis(hz, best, axis=1)


def _cheapest_path(strength: Floats, hz: Floats, unvoiced: Floats) -> Floats:
    """Viterbi over one unvoiced state and the candidates of each frame."""
    frames, count = strength.shape
    score = np.concatenate([unvoiced[:, None], strength], axis=1)
    octave = np.concatenate([np.zeros((frames, 1)), np.log2(hz)], axis=1)
    voiced = np.arange(count + 1) > 0
    both = voiced[:, None] & voiced[None, :]
    change = np.where(voiced[:, None] != voiced[None, :], VOICING_COST, 0.0)
    total = score[0]
    came_from = np.zeros((frames, count + 1), dtype=np.intp)
    for i in range(1, frames):
        jump = np.where(both, JUMP_COST * np.abs(octave[i - 1][:, None] - octave[i][None, :]), change)
        reached = total[:, None] - jump
        came_from[i] = reached.argmax(axis=0)
        total = reached.max(axis=0) + score[i]
    path = np.zeros(frames, dtype=np.intp)
    path[-1] = int(total.argmax())
    for i in range(frames - 1, 0, -1):
        path[i - 1] = came_from[i, path[i]]
    found: Floats = np.where(path > 0, 2.0 ** octave[np.arange(frames), path], np.nan)
    return found


def voiced_runs(values: Floats) -> tuple[tuple[int, int], ...]:
    """Half-open frame ranges without NaN, in order."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], np.isfinite(values), [False]]).astype(np.int8)))
    return tuple((int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True))


def smoothed(hz: Floats) -> Floats:
    """Octave slips undone, very short voiced stretches dropped, and a median over 5 frames inside each stretch.

    A stretch also ends where pitch leaps further than a voice can (``MOST_STEP``). One that lies about an octave from
    where the voice just was, or from both the stretch before and the voice's median, is moved by that octave.
    """
    out = hz.copy()
    centre = float(np.nanmedian(out)) if np.isfinite(out).any() else math.nan
    previous, ended, before = centre, -NEAR_FRAMES, 0
    for start, end in _steady_runs(out):
        if end - start < SHORTEST_RUN:
            out[start:end] = np.nan
            continue
        middle = float(np.median(out[start:end]))
        away = math.log2(middle / previous)
        if start - ended < NEAR_FRAMES and end - start < before:
            leap = math.log2(float(np.median(out[start : start + SHORTEST_RUN])) / float(out[ended - 1]))
            moves = abs(leap) > SLIP
            away = leap if moves else away
        else:
            moves = abs(away) > SLIP and abs(math.log2(middle / centre)) > SLIP
        if moves:
            out[start:end] *= 2.0 ** -round(away)
        previous, ended, before = float(np.median(out[start:end])), end, end - start
        padded = np.pad(out[start:end], 2, mode="edge")
        out[start:end] = np.median(sliding_window_view(padded, 5), axis=1)
    return out


def _steady_runs(hz: Floats) -> list[tuple[int, int]]:
    """The voiced runs, cut where pitch leaps from one frame to the next."""
    with np.errstate(invalid="ignore"):
        leaps = np.flatnonzero(np.abs(np.diff(np.log2(hz))) > MOST_STEP) + 1
    found = []
    for start, end in voiced_runs(hz):
        cuts = [start, *(int(at) for at in leaps if start < at < end), end]
        found += list(pairwise(cuts))
    return found


def semitones(hz: Floats, reference_hz: float) -> Floats:
    """12 to the octave above (or below) the reference; NaN stays NaN."""
    return 12.0 * np.log2(hz / reference_hz)


def median_hz(hz: Floats) -> float | None:
    """The middle of the voiced frames; None when there are none."""
    voiced = hz[np.isfinite(hz)]
    return float(np.median(voiced)) if len(voiced) else None
