"""What a live room adds to the end of a line: speech without a word that dies away and never rises again."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from lessoncut.hearing.heights import frames_of
from lessoncut.matching.attempts import Attempt, Settled, Unscripted
from lessoncut.take.levels import Levels

LONGEST_MS = 700
BESIDE_MS = 120
"""So near the end of a line its tail begins; the aligner's ends are as rough."""
QUIET_DB = 6.0
"""Over the room tone; what is below does not count."""
RISE_DB, FALL_DB = 5.0, 6.0
"""The tails of such rooms rose by 4 dB at most and fell by 12 or more; other sounds right behind a line rose by 12."""
SMOOTH = 3
"""Frames that a level is taken over."""


def without_tails(settled: Settled, levels: Levels, floor_db: float) -> Settled:
    """Without the tails of lines among what is not of the script: they are the lines' own."""
    quiet_db = floor_db + QUIET_DB
    unscripted = [talk for talk in settled.unscripted if not _is_tail(talk, settled.attempts, levels, quiet_db)]
    return Settled(settled.attempts, tuple(unscripted))


def _is_tail(talk: Unscripted, attempts: Sequence[Attempt], levels: Levels, quiet_db: float) -> bool:
    behind = any(abs(talk.span.start_ms - attempt.span.end_ms) <= BESIDE_MS for attempt in attempts)
    if talk.words or talk.span.length_ms > LONGEST_MS or not behind:
        return False
    level = np.maximum(levels.voice_db[frames_of(talk.span)], quiet_db)
    if len(level) < SMOOTH:
        return False
    smooth = np.convolve(level, np.full(SMOOTH, 1 / SMOOTH), mode="valid")
    rise_db, fall_db = (smooth - np.minimum.accumulate(smooth)).max(), smooth[0] - smooth[-1]
    return bool(rise_db <= RISE_DB and (fall_db >= FALL_DB or level.max() <= quiet_db))
