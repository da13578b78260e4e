"""The last sounds of a line that its level alone does not show: an s that comes up behind the vowel, the burst and the
release of a stop, an f that keeps its level."""

from __future__ import annotations

import numpy as np

from lessoncut.hearing.outlines import CLOSURE_MS, DRY_MS_A_DB, HISS_OVER_DB, VOICE_OVER_DB, LaidLine, frames, later
from lessoncut.take.levels import HOP_MS, Decibels, Levels
from lessoncut.times import Span

HISS_MS, HISS_RISE_DB = 250, 6.0
"""How far behind a line its last s may come up, and by how much it does; it ends where it has fallen by as much."""
BURST_RISE_DB, BURST_OVER_DB = 3.0, 3.0
"""How much the burst of a last stop comes up in the hiss band within 10 ms, and over the room."""
BURST_BEFORE_MS, BURST_MS = 30, 30
"""How far before an end, which may lie in the midst of it, a burst is looked for; and how long it is."""
LEVEL_DB, LEVEL_TIMES = 4.0, 2.0
"""An f or th keeps its level within so much, and so many times as long as an echo would."""
RELEASE_RISE_DB, RELEASE_FALL_DB = 5.0, 10.0
"""How much the release of a last stop comes up behind its closure; it ends where it has fallen by so much."""
HIDING_DB, HIDDEN_RELEASE_MS = 11.0, 65
"""From how much noise over a line's depth on the release of a last stop cannot be seen; and how long it is then, with
its closure."""


def with_hiss(hiss_db: Decibels, found: Span, line: LaidLine) -> Span:
    """The line with all of an s that comes up behind it, or at its end: what is left of a vowel only falls."""
    for before_ms in (0, HISS_MS // 2):
        found = _with_hiss_from(hiss_db, found, line, before_ms)
    return found


def _highest_rise(level_db: Decibels) -> tuple[int, float]:
    """The frame at which the level stands highest over the lowest one before, and by how much it does."""
    rise_db = level_db - np.minimum.accumulate(level_db)
    top = int(rise_db.argmax())
    return top, float(rise_db[top])


def with_burst(levels: Levels, found: Span, line: LaidLine) -> Span:
    """The line with the burst of a last p, t or k, too short for the smoothed level to show."""
    latest_ms = max(found.end_ms, min(line.limits.end_ms, found.end_ms + CLOSURE_MS))
    around = Span(max(found.start_ms, found.end_ms - BURST_BEFORE_MS), latest_ms)
    hiss = frames(levels.hiss_db, around)
    if not len(hiss):
        return found
    top, rise_db = _highest_rise(hiss)
    if rise_db < BURST_RISE_DB or hiss[top] < line.room_hiss_db + BURST_OVER_DB:
        return found
    end_ms = min(around.start_ms + top * HOP_MS + BURST_MS, latest_ms)
    return Span(found.start_ms, max(found.end_ms, end_ms))


def _with_hiss_from(hiss_db: Decibels, found: Span, line: LaidLine, before_ms: int) -> Span:
    latest_ms = max(found.end_ms, min(line.limits.end_ms, found.end_ms + HISS_MS))
    around = Span(max(found.start_ms, found.end_ms - before_ms), latest_ms)
    hiss = frames(hiss_db, around)
    if not len(hiss):
        return found
    top, rise_db = _highest_rise(hiss)  # what is left of the vowel may be louder
    if rise_db < HISS_RISE_DB or hiss[top] < line.room_hiss_db + HISS_OVER_DB:
        return found
    lower = np.flatnonzero(hiss[top:] < hiss[top] - HISS_RISE_DB)
    end_ms = around.start_ms + (top + int(lower[0])) * HOP_MS if len(lower) else latest_ms
    return Span(found.start_ms, max(found.end_ms, end_ms))


def with_release(voice_db: Decibels, found: Span, line: LaidLine) -> Span:
    """The line with the release of a last stop, which comes up behind its closure: where it does so most, since what is
    left of the vowel may be louder."""
    latest_ms = max(found.end_ms, min(line.limits.end_ms, found.end_ms + CLOSURE_MS))
    level = frames(voice_db, Span(found.end_ms, latest_ms))
    if not len(level):
        return found
    top, rise_db = _highest_rise(level)
    floor_db = line.room_voice_db + VOICE_OVER_DB
    if rise_db < RELEASE_RISE_DB or level[top] < floor_db:
        return found
    lower = np.flatnonzero(level[top:] < max(floor_db, level[top] - RELEASE_FALL_DB))
    return Span(found.start_ms, found.end_ms + (top + int(lower[0] if len(lower) else 0)) * HOP_MS)


def with_hidden_release(found: Span, line: LaidLine) -> Span:
    """The line with room for the release of a last stop, where noise hides so much that nobody can see one: a line
    without its t is worse than one with a little more room behind it."""
    if not line.outline.stopping or line.hidden_db < HIDING_DB:
        return found
    return later(found, line, HIDDEN_RELEASE_MS)


def with_level_hiss(hiss_db: Decibels, found: Span, line: LaidLine, fading_ms_a_db: float) -> Span:
    """The line with a last f or th that keeps its level behind it: an echo only falls."""
    latest_ms = min(line.limits.end_ms, found.end_ms + HISS_MS)
    hiss = frames(hiss_db, Span(found.end_ms, max(found.end_ms, latest_ms)))
    if not len(hiss):
        return found
    least_db = max(hiss[0] - LEVEL_DB, line.room_hiss_db + HISS_OVER_DB)
    lower = np.flatnonzero(hiss < least_db)
    level_ms = (int(lower[0]) if len(lower) else len(hiss)) * HOP_MS
    wanted_ms = LEVEL_TIMES * LEVEL_DB * max(fading_ms_a_db, DRY_MS_A_DB)
    return Span(found.start_ms, found.end_ms + level_ms) if level_ms >= wanted_ms else found
