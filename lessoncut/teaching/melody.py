"""The melody of one reading, from a contour in semitones over the speaker's median."""

from __future__ import annotations

import numpy as np

from lessoncut.hearing.pitch import HOP_MS, Floats
from lessoncut.teaching.records import Contour, Tone
from lessoncut.times import Span

LEAST_MOVE_ST = 1.5
"""Smaller movements are heard as level ("t Hart 1981: three semitones for a clear difference; half of it here)."""
DIFFERENT_ST = 3.0
"""RMS distance from which two readings of one line count as different melodies (design value)."""


def contour(semitones: Floats, start_ms: int) -> Contour | None:
    """The record of a contour; None where nothing is voiced."""
    if not np.isfinite(semitones).any():
        return None
    return Contour(start_ms, HOP_MS, tuple(None if np.isnan(st) else round(float(st), 2) for st in semitones))


def values(line: Contour) -> Floats:
    """The contour's semitones as an array, NaN where unvoiced."""
    return np.array([np.nan if st is None else st for st in line.semitones], dtype=np.float64)


def tone(line: Contour, tail: Span) -> Tone | None:
    """How pitch moves from the middle of ``tail``'s first third to its last voiced frames."""
    first, last = (max(0, (at - line.start_ms) // line.hop_ms) for at in (tail.start_ms, tail.end_ms))
    row = values(line)[first:last]
    voiced = row[np.isfinite(row)]
    if len(voiced) < 6:
        return None
    third = len(voiced) // 3
    move = float(np.median(voiced[-third:]) - np.max(voiced[:-third]))
    rise = float(np.median(voiced[-third:]) - np.min(voiced[:-third]))
    if rise >= LEAST_MOVE_ST and rise > -move:
        return "rise"
    return "fall" if move <= -LEAST_MOVE_ST else "level"


def distance_st(a: Contour, b: Contour, a_words: list[Span], b_words: list[Span]) -> float | None:
    """RMS distance of two melodies laid on each other word by word, their own middles taken out; None if unvoiced."""
    pairs = [(_middle(a, first), _middle(b, second)) for first, second in zip(a_words, b_words, strict=True)]
    both = np.array([(x, y) for x, y in pairs if x is not None and y is not None])
    if len(both) < 3:
        return None
    centred = both - np.median(both, axis=0)
    return float(np.sqrt(np.mean((centred[:, 0] - centred[:, 1]) ** 2)))


def _middle(line: Contour, span: Span) -> float | None:
    first, last = (max(0, (at - line.start_ms) // line.hop_ms) for at in (span.start_ms, span.end_ms))
    row = values(line)[first:last]
    voiced = row[np.isfinite(row)]
    return float(np.median(voiced)) if len(voiced) >= 3 else None
