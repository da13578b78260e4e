"""True edges of a reading, and where the take may be cut around it. Pure.

The aligner places a line's first and last sound to the frame, but not the fade of a last consonant or a soft onset;
the level does, but takes a breath or a click for speech. The edge is the outer of the two, as far as it is believable.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from lessoncut.take.levels import HOP_MS, Decibels, Levels, quietest_ms
from lessoncut.times import Span, SpanIndex, merged

DEPTH_DB = 40.0
"""A reading's speech reaches down to this far under its own peak (10 ms RMS), where the room is quieter than that."""
OVER_FLOOR_DB = 6.0
FLOOR_PERCENTILE = 20
AROUND_MS = 600
"""How far around a reading the room's level is looked for."""
EARLIER_MS, LATER_MS = 150, 250
"""How far the level may move an edge outwards."""
BRIDGE_MS = 40
"""A closure shorter than this does not end the reading: the burst of a last stop follows it."""
PAD_BEFORE_MS, PAD_AFTER_MS = 60, 90


def true_edges(levels: Levels, laid: Span, limits: Span) -> Span:
    """Onset and offset of the speech around an aligned line, never beyond ``limits``."""
    start = _outward(
        levels, laid, Span(max(limits.start_ms, laid.start_ms - EARLIER_MS), laid.start_ms), backwards=True
    )
    end = _outward(levels, laid, Span(laid.end_ms, min(limits.end_ms, laid.end_ms + LATER_MS)), backwards=False)
    return Span(min(laid.start_ms, start), max(laid.end_ms, end))


def _outward(levels: Levels, laid: Span, reach: Span, *, backwards: bool) -> int:
    """How far speech goes on from the laid edge into ``reach``."""
    edge_ms = reach.end_ms if backwards else reach.start_ms
    for band in (levels.voice_db, levels.hiss_db):
        active = _frames(band, reach) > _threshold(band, laid)
        if backwards:
            active = active[::-1]
        length_ms = _run_ms(active)
        moved_ms = reach.end_ms - length_ms if backwards else reach.start_ms + length_ms
        edge_ms = min(edge_ms, moved_ms) if backwards else max(edge_ms, moved_ms)
    return edge_ms


def _frames(band: Decibels, span: Span) -> Decibels:
    return band[max(0, span.start_ms) // HOP_MS : max(0, span.end_ms) // HOP_MS]


def _threshold(band: Decibels, laid: Span) -> float:
    inside = _frames(band, laid)
    around = np.concatenate(
        (
            _frames(band, Span(laid.start_ms - AROUND_MS, laid.start_ms - EARLIER_MS)),
            _frames(band, Span(laid.end_ms + LATER_MS // 2, laid.end_ms + AROUND_MS)),
        )
    )
    peak = float(inside.max(initial=-120.0))
    floor = float(np.percentile(around, FLOOR_PERCENTILE)) if len(around) else -120.0
    return max(peak - DEPTH_DB, floor + OVER_FLOOR_DB)


def _run_ms(active: np.typing.NDArray[np.bool_]) -> int:
    """How far the activity goes on, from the first frame, with short holes bridged."""
    last = 0
    for at, is_active in enumerate(active, start=1):
        if is_active:
            last = at
        elif (at - last) * HOP_MS > BRIDGE_MS:
            break
    return last * HOP_MS


def cut_points(levels: Levels, readings: Sequence[Span], others: Sequence[Span]) -> list[Span]:
    """For each reading (true edges, in time order), the span to cut it at.

    A cut lies a little outside the reading, where the sound between it and its neighbour is quietest, and never
    inside a neighbour; ``others`` is speech outside the script.
    """
    speech = SpanIndex(merged([*readings, *others]))
    cuts = []
    for reading in readings:
        before_ms = speech.last_end_ms(reading.start_ms)
        after_ms = speech.next_start_ms(reading.end_ms, levels.duration_ms)
        room_before = Span(max(before_ms, reading.start_ms - 2 * PAD_BEFORE_MS), reading.start_ms)
        room_after = Span(reading.end_ms, max(reading.end_ms, min(after_ms, reading.end_ms + 2 * PAD_AFTER_MS)))
        start_ms = max(before_ms, reading.start_ms - PAD_BEFORE_MS)
        end_ms = min(room_after.end_ms, reading.end_ms + PAD_AFTER_MS)
        if before_ms > reading.start_ms - 2 * PAD_BEFORE_MS and room_before.length_ms >= 2 * HOP_MS:
            start_ms = quietest_ms(levels, room_before)
        if after_ms < reading.end_ms + 2 * PAD_AFTER_MS and room_after.length_ms >= 2 * HOP_MS:
            end_ms = quietest_ms(levels, room_after)
        cuts.append(Span(min(start_ms, reading.start_ms), max(end_ms, reading.end_ms)))
    return cuts
