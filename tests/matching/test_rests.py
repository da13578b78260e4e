"""Two starts of a line in one breath are the line, where the sound holds all of it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Attempt
from lessoncut.matching.ground import Ground
from lessoncut.matching.records import ReadWord
from lessoncut.matching.rests import with_own_rests
from lessoncut.times import Span
from tests.matching.scripts import FERRY, script
from tests.matching.sounding import sounding

WHOLE = "2.0  vera waits beside the water  4.0"
VERA = ("vera", "waits", "beside", "the", "water")


def start(start_ms: int, count: int) -> Attempt:
    spans = [Span(start_ms + 400 * at, start_ms + 400 * at + 400) for at in range(count)]
    words = tuple(ReadWord(text, span, None) for text, span in zip(VERA, spans, strict=False))
    return Attempt(1, False, count, words, (), 0.5, laid=True, score=-20.0)


def test_two_starts_whose_sound_is_the_whole_line_are_the_line() -> None:
    ground = Ground(script(FERRY), told(WHOLE), sounding(WHOLE))
    (line,) = with_own_rests(ground, [start(2000, 3), start(3200, 2)])
    assert (line.full, line.texts, line.span) == (True, VERA, Span(2000, 4000))


@pytest.mark.parametrize(
    ("sound", "first", "second"),
    [
        ("2.0  vera waits beside vera waits  4.0", start(2000, 3), start(3200, 2)),  # begun twice, and never read
        (WHOLE.replace("beside the water  4.0", "beside  3.2\n3.6  the water  4.4"), start(2000, 3), start(3600, 2)),
        ("2.0  vera waits  2.8", start(2000, 1), start(2400, 1)),  # no time for the line
    ],
    ids=["two starts", "a pause between", "too short"],
)
def test_other_starts_stay(sound: str, first: Attempt, second: Attempt) -> None:
    ground = Ground(script(FERRY), told(sound), sounding(sound))
    assert with_own_rests(ground, [first, second]) == [first, second]
    third = replace(second, line=2)
    assert with_own_rests(ground, [first, third]) == [first, third]
