"""What is looked at where lines were laid, to tell where each of them ends. Pure.

How loud it is around the laid end, how far the line's peak stands over the room, how long it is and how near its
neighbour: and how loud it usually is around the ends of this take, which says how its room falls quiet. A start is the
end of the take played backwards.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lessoncut.take.levels import FLOOR_DB, HOP_MS, Decibels, Levels
from lessoncut.times import Span

BEFORE, BEHIND = 40, 60
"""Frames before and behind the laid end."""
_USUAL = slice(-10, 60, 3)
"""Frames around it of which the usual level is told."""
_USUAL_PERCENTILES = (50, 25)
_DEEPEST_DB, _HIGHEST_DB = -60.0, 5.0
"""Under and over the line's peak: what lies further away tells nothing more."""
_AROUND_MS, _APART_BEFORE_MS, _APART_BEHIND_MS = 600, 150, 175
"""Where the room's level is looked for, before and behind a line."""
_ROOM_PERCENTILE = 20
_USUAL_LENGTH_MS, _SHORTEST_MS, _FURTHEST_MS = 1500, 100, 400

Views = NDArray[np.float64]
"""Shape (lines, numbers)."""


def end_views(levels: Levels, laid: Sequence[Span], limits: Sequence[Span], shift: int = 0) -> Views:
    """Of each line of a take, around its laid end or so many frames behind it."""
    peaks_db = np.array([_peak_db(levels, span) for span in laid])
    ends = np.array([span.end_ms // HOP_MS for span in laid])
    rest_ms = np.array([limit.end_ms - span.end_ms for span, limit in zip(laid, limits, strict=True)])
    lengths_ms = np.array([max(_SHORTEST_MS, span.length_ms) for span in laid])
    columns = [np.log(lengths_ms / _USUAL_LENGTH_MS), np.clip(rest_ms - shift * HOP_MS, 0, _FURTHEST_MS) / 100]
    for band in (levels.voice_db, levels.hiss_db):
        room_db = np.array([_room_db(band, span) for span in laid])
        columns.append(np.clip(peaks_db - room_db, 0, 70) / 20 - 1.5)
    views = [np.stack(columns, axis=1)]
    for band in (levels.voice_db, levels.hiss_db):
        usual = _under_peak(band, ends, peaks_db, np.arange(_USUAL.start, _USUAL.stop, _USUAL.step))
        told = np.percentile(usual, _USUAL_PERCENTILES, axis=0).ravel()
        views += [
            _under_peak(band, ends + shift, peaks_db, np.arange(-BEFORE, BEHIND)),
            np.broadcast_to(told, (len(laid), len(told))),
        ]
    return np.hstack(views)


def _peak_db(levels: Levels, span: Span) -> float:
    return float(_frames(levels.voice_db, span).max(initial=FLOOR_DB))


def _room_db(band: Decibels, span: Span) -> float:
    """How loud it is around the line where nobody speaks."""
    around = np.concatenate(
        (
            _frames(band, Span(span.start_ms - _AROUND_MS, span.start_ms - _APART_BEFORE_MS)),
            _frames(band, Span(span.end_ms + _APART_BEHIND_MS, span.end_ms + _AROUND_MS)),
        )
    )
    return float(np.percentile(around, _ROOM_PERCENTILE)) if len(around) else FLOOR_DB


def _frames(band: Decibels, span: Span) -> Decibels:
    return band[max(0, span.start_ms) // HOP_MS : max(0, span.end_ms) // HOP_MS]


def _under_peak(
    band: Decibels, ends: NDArray[np.int_], peaks_db: NDArray[np.float64], offsets: NDArray[np.int_]
) -> NDArray[np.float64]:
    """How far each of these frames around each end lies under the line's peak, in twenties of dB, about zero."""
    at = ends[:, None] + offsets
    inside = (at >= 0) & (at < len(band))
    level_db = np.where(inside, band[np.clip(at, 0, max(0, len(band) - 1))] if len(band) else FLOOR_DB, FLOOR_DB)
    return np.asarray(np.clip(level_db - peaks_db[:, None], _DEEPEST_DB, _HIGHEST_DB) / 20 + 1)
