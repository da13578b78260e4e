"""True edges of readings. Pure.

The aligner finds a line's first and last sound, give or take a few frames: it begins a little early, lets the last
word run on into the room, and misses the release of a last consonant. The level says where the sound itself begins and
ends, but takes a breath or a click for speech, the room's echo for a vowel, and cannot hear what lies under the noise.
What speaks for an edge in all this was fitted, not written down: see ``edge_nets``.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from lessoncut.hearing.edge_nets import QUANTILES, EdgeNets, fitted
from lessoncut.hearing.edge_views import end_views, peak_db, room_db
from lessoncut.take.levels import HOP_MS, Levels, quietest_ms
from lessoncut.times import Span

LIKELY = QUANTILES.index(0.9)
"""A clipped line is heard sooner than one with a little more room."""
MARGIN_MS = 6
"""More at every edge, which nobody can hear there; and as much again as what is told from nearby frames differs: where
it does, the nets are on unknown ground."""
CORE_DB, OVER_ROOM_DB, LOUD_FRAMES = 28, 3, 2
"""So many frames behind an edge are of the line still where they lie no further under its loudest one and stand out of
the room: steep edges lie nearer than the nets can tell."""
INWARD_MS, OUTWARD_MS = 300, 500
"""How far an edge may lie inside or outside the laid one."""
_SHIFTS = (-3, 0, 3)
"""Frames from which the same edge is looked at."""


def true_edges(
    levels: Levels, laid: Sequence[Span], limits: Sequence[Span], nets: Callable[[str], EdgeNets] = fitted
) -> list[Span]:
    """For each aligned line of a take, in time order, the onset and offset of its speech.

    ``limits`` are the neighbours' edges. Where two lines reach for the same sound, the quietest place parts them.
    """
    if not laid:
        return []
    later_ms = _outside_ms(nets("end"), levels, laid, limits)
    earlier_ms = _outside_ms(
        nets("start"), levels.backwards, *(backwards(spans, levels.duration_ms) for spans in (laid, limits))
    )
    found = [_within(*line) for line in zip(laid, limits, earlier_ms, later_ms, strict=True)]
    return _apart(levels, laid, found)


def backwards(spans: Sequence[Span], last_ms: int) -> list[Span]:
    """The spans, in their order, in a take of that length that is played backwards."""
    return [Span(last_ms - span.end_ms, last_ms - span.start_ms) for span in spans]


def since_frame_ms(laid: Sequence[Span]) -> NDArray[np.int_]:
    """How far behind the frame from which it is looked at each line was laid to end."""
    return np.array([span.end_ms % HOP_MS for span in laid])


def _outside_ms(nets: EdgeNets, levels: Levels, laid: Sequence[Span], limits: Sequence[Span]) -> list[int]:
    """How far each line goes on behind its laid end, at the most that is likely, and a little more."""
    views = end_views(levels, laid, limits, _SHIFTS)
    told = nets.quantiles_ms(views)[:, :, LIKELY] + HOP_MS * np.array(_SHIFTS)[:, None]
    likely_ms = np.clip(told.mean(axis=0) + told.std(axis=0) - since_frame_ms(laid), -INWARD_MS, OUTWARD_MS)
    return _past_loud(levels, laid, likely_ms + MARGIN_MS)


def _past_loud(levels: Levels, laid: Sequence[Span], later_ms: NDArray[np.float64]) -> list[int]:
    """The edges, or where they lie in what is loud, so many whole frames behind them."""
    past = []
    for line, ms in zip(laid, later_ms, strict=True):
        outside_ms = round(float(ms))
        behind = (line.end_ms + outside_ms) // HOP_MS
        least_db = max(peak_db(levels.voice_db, line) - CORE_DB, room_db(levels.voice_db, line) + OVER_ROOM_DB)
        loud = levels.voice_db[behind : behind + LOUD_FRAMES] > least_db
        past.append(outside_ms + HOP_MS * int(np.logical_and.accumulate(loud).sum()))
    return past


def _within(laid: Span, limits: Span, earlier_ms: int, later_ms: int) -> Span:
    """The laid line with so much more at its ends, or less, as far as its limits let it; its middle is always its."""
    start_ms = max(laid.start_ms - earlier_ms, min(limits.start_ms, laid.start_ms))
    end_ms = min(laid.end_ms + later_ms, max(limits.end_ms, laid.end_ms))
    return Span(min(start_ms, laid.middle_ms), max(end_ms, laid.middle_ms + 1))


def _apart(levels: Levels, laid: Sequence[Span], found: Sequence[Span]) -> list[Span]:
    starts, ends = [span.start_ms for span in found], [span.end_ms for span in found]
    for at, (before, after) in enumerate(pairwise(laid)):
        if ends[at] > starts[at + 1] and before.end_ms <= after.start_ms:
            parted_ms = quietest_ms(levels, Span(before.end_ms, after.start_ms))
            ends[at] = max(starts[at], min(ends[at], parted_ms))
            starts[at + 1] = min(ends[at + 1], max(starts[at + 1], parted_ms))
    return [Span(*edges) for edges in zip(starts, ends, strict=True)]
