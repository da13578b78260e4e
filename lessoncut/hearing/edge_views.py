"""What is looked at where lines were laid, to tell where each of them ends. Pure.

How loud it is around the laid end, how far the line's peak stands over the room, how long it is and how near its
neighbour: and how loud it usually is around the ends of this take, which says how its room falls quiet. A start is the
end of the take played backwards.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lessoncut.hearing.heights import frames_of
from lessoncut.take.levels import FLOOR_DB, HOP_MS, Decibels, Levels
from lessoncut.times import Span

_AROUND, _USUAL = np.arange(-40, 60), np.arange(-10, 60, 3)
"""Frames around the laid end: those of which the level is told, and those of which the usual one is."""
_USUAL_PERCENTILES = (50, 25)
_DEEPEST_DB, _HIGHEST_DB = -60.0, 5.0
"""Under and over the line's peak: what lies further away tells nothing more."""
_AROUND_MS, _APART_BEFORE_MS, _APART_BEHIND_MS = 600, 150, 175
"""Where the room's level is looked for, before and behind a line."""
_ROOM_PERCENTILE = 20
_USUAL_LENGTH_MS, _SHORTEST_MS, _FURTHEST_MS = 1500, 100, 400

Views = NDArray[np.float64]
"""Shape (shifts, lines, numbers)."""


def end_views(levels: Levels, laid: Sequence[Span], limits: Sequence[Span], shifts: Sequence[int] = (0,)) -> Views:
    """Of each line of a take, around so many frames behind its laid end."""
    peaks_db = np.array([peak_db(levels.voice_db, span) for span in laid], np.float64)
    ends = np.array([span.end_ms // HOP_MS for span in laid])
    rest_ms = np.array([limit.end_ms - span.end_ms for span, limit in zip(laid, limits, strict=True)])
    lengths_ms = np.array([max(_SHORTEST_MS, span.length_ms) for span in laid])
    bands = (levels.voice_db, levels.hiss_db)
    over_room = [np.clip(peaks_db - [room_db(band, span) for span in laid], 0, 70) / 20 - 1.5 for band in bands]
    usual = [
        np.percentile(_under_peak(band, ends, peaks_db, _USUAL), _USUAL_PERCENTILES, axis=0).ravel() for band in bands
    ]

    def seen(shift: int) -> NDArray[np.float64]:
        rest = np.clip(rest_ms - shift * HOP_MS, 0, _FURTHEST_MS) / 100
        views = [np.stack((np.log(lengths_ms / _USUAL_LENGTH_MS), rest, *over_room), axis=1)]
        for band, told in zip(bands, usual, strict=True):
            around = _under_peak(band, ends + shift, peaks_db, _AROUND)
            views += [around, np.broadcast_to(told, (len(laid), len(told)))]
        return np.hstack(views)

    return np.stack([seen(shift) for shift in shifts])


def peak_db(band: Decibels, span: Span) -> float:
    """How loud the line is where it is loudest."""
    return float(band[frames_of(span)].max(initial=FLOOR_DB))


def room_db(band: Decibels, span: Span) -> float:
    """How loud it is around the line where nobody speaks."""
    before = Span(span.start_ms - _AROUND_MS, span.start_ms - _APART_BEFORE_MS)
    behind = Span(span.end_ms + _APART_BEHIND_MS, span.end_ms + _AROUND_MS)
    around = np.concatenate((band[frames_of(before)], band[frames_of(behind)]))
    return float(np.percentile(around, _ROOM_PERCENTILE)) if len(around) else FLOOR_DB


def _under_peak(
    band: Decibels, ends: NDArray[np.int_], peaks_db: NDArray[np.float64], offsets: NDArray[np.int_]
) -> NDArray[np.float64]:
    """How far each of these frames around each end lies under the line's peak, in twenties of dB, about zero."""
    at = ends[:, None] + offsets
    inside = (at >= 0) & (at < len(band))
    level_db = np.where(inside, band[np.clip(at, 0, max(0, len(band) - 1))] if len(band) else FLOOR_DB, FLOOR_DB)
    return np.asarray(np.clip(level_db - peaks_db[:, None], _DEEPEST_DB, _HIGHEST_DB) / 20 + 1)
