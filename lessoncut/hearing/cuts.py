"""Where the take may be cut around its readings. Pure."""

from __future__ import annotations

from collections.abc import Sequence

from lessoncut.take.levels import HOP_MS, Levels, quietest_ms
from lessoncut.times import Span, SpanIndex, merged

PAD_BEFORE_MS, PAD_AFTER_MS = 60, 90
BREATH_BEFORE_MS = 300
"""A breath that ends so shortly before a reading is drawn for it."""


def cut_points(
    levels: Levels, readings: Sequence[Span], others: Sequence[Span], breaths: Sequence[Span] = ()
) -> list[Span]:
    """For each reading (true edges, in time order), the span to cut it at.

    A cut lies a little outside the reading, where the sound between it and its neighbour is quietest, and never
    inside a neighbour; ``others`` is speech outside the script. A breath right before a reading belongs to it.
    """
    speech = SpanIndex(merged([*readings, *others]))
    drawn = SpanIndex(breaths)
    readings = [_with_breath(reading, drawn, speech.last_end_ms(reading.start_ms)) for reading in readings]
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


def _with_breath(reading: Span, breaths: SpanIndex, earliest_ms: int) -> Span:
    """The reading and the breath drawn for it, unless something else stands between or in it."""
    for breath in breaths.meeting(Span(reading.start_ms - BREATH_BEFORE_MS - 1, reading.start_ms)):
        if breath.start_ms >= earliest_ms and 0 <= reading.start_ms - breath.end_ms <= BREATH_BEFORE_MS:
            return reading.hull(breath)
    return reading
