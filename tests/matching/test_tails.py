"""A room's tail behind a line is the line's; what rises again is not.

A room's sound dies away by 60 dB in its reverberation time (ISO 3382-1, from memory): here 0.9 s, as in a bare kitchen
(common practice, no source).
"""

from __future__ import annotations

import numpy as np
import pytest

from lessoncut.hearing.records import HeardWord
from lessoncut.matching.attempts import Attempt, Settled, Unscripted
from lessoncut.matching.records import ReadWord
from lessoncut.matching.tails import without_tails
from lessoncut.take.levels import HOP_MS, Levels
from lessoncut.times import Span

FLOOR_DB, LINE_DB = -60.0, -20.0
LINE = Span(1000, 2000)
ROOM_S = 0.9


def levels(then_db: float | None = None) -> Levels:
    """Room tone, a line, its tail; and a sound of that level in the tail's middle."""
    at_ms = np.arange(0, 4000, HOP_MS)
    level = np.full(len(at_ms), FLOOR_DB)
    level[(at_ms >= LINE.start_ms) & (at_ms < LINE.end_ms)] = LINE_DB
    after_s = (at_ms[at_ms >= LINE.end_ms] - LINE.end_ms) / 1000
    level[at_ms >= LINE.end_ms] = np.maximum(FLOOR_DB, LINE_DB - 60 * after_s / ROOM_S)
    if then_db is not None:
        level[(at_ms >= 2200) & (at_ms < 2300)] = then_db
    return Levels(level.astype(np.float32), level.astype(np.float32))


def settled(talk: Span, words: tuple[HeardWord, ...] = ()) -> Settled:
    line = Attempt(0, True, 1, (ReadWord("ferry", LINE, "ferry"),), (), 0.0, laid=True)
    return Settled((line,), (Unscripted(talk, words),))


def test_what_only_dies_away_behind_a_line_is_the_lines() -> None:
    for talk in (Span(2000, 2450), Span(2050, 2500), Span(1950, 2300)):
        assert without_tails(settled(talk), levels(), FLOOR_DB).unscripted == ()


@pytest.mark.parametrize(
    ("talk", "words", "then_db"),
    [
        (Span(2000, 2450), (), -25.0),  # a cough in it
        (Span(2000, 2450), (HeardWord("no", Span(2000, 2300), 0.5),), None),
        (Span(2000, 2800), (), None),  # nobody's room
        (Span(1000, 1400), (), None),  # not behind a line
        (Span(2000, 2010), (), None),
    ],
    ids=["rises", "a word", "long", "elsewhere", "a click"],
)
def test_other_speech_stays(talk: Span, words: tuple[HeardWord, ...], then_db: float | None) -> None:
    before = settled(talk, words)
    assert without_tails(before, levels(then_db), FLOOR_DB) == before
