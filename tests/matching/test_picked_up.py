"""A line picked up after the ending that was heard as other words."""

from __future__ import annotations

import pytest

from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Attempt, Unscripted
from lessoncut.matching.examples import SO_NEAR
from lessoncut.matching.ground import Ground
from lessoncut.matching.picked_up import FAR_NEARER, with_lines_picked_up
from lessoncut.matching.records import ReadWord
from lessoncut.script.records import Script
from lessoncut.times import Span
from tests.matching.scripts import script
from tests.matching.sounding import Like, sounding

LINES: Script = script("A button, a leaf.\nA feather from the ferry.", "Welcome.", "Goodbye to you all.")
OPENING, BUTTON, FEATHER, ENDING = range(4)
TALK = Span(30_000, 31_200)


def _read(line: int, start_ms: int, *, full: bool = True) -> Attempt:
    texts = LINES.lines[line].spoken
    words = tuple(
        ReadWord(text, span, None)
        for text, span in zip(texts, Span(start_ms, start_ms + 1200).parts(len(texts)), strict=True)
    )
    return Attempt(line, full, len(words), words, (), 0.2, laid=True)


BOTH_PASSES = [_read(OPENING, 0), *(_read(line, 2000 + 2000 * at) for at, line in enumerate([1, 2, 1, 2]))]
WITH_ENDING = [*BOTH_PASSES, _read(ENDING, 20_000)]


def _told(attempts: list[Attempt], near: float = 1.0, far: float = 5.0) -> list[tuple[int, bool]]:
    """What becomes of talk that is so far from the readings of the first line, and from those of the second; readings
    of one line are 1 apart."""
    button = {each.span for each in attempts if each.line == BUTTON}
    hearing = told("30.0  above the leaf  31.2")

    def compare(span: Span, other: Span) -> Like:
        if TALK in (span, other):
            return Like(near if {span, other} & button else far)
        return Like(1.0)

    ground = Ground(LINES, hearing, sounding(""), compare=compare)
    talk = Unscripted(TALK, ground.heard_inside(TALK))
    found, left = with_lines_picked_up(ground, attempts, [talk])
    assert len(found) - len(attempts) == 1 - len(left)
    return [(each.line, each.full) for each in found if each.span == TALK]


@pytest.mark.parametrize(
    ("near", "far", "is_line"),
    [
        (SO_NEAR - 0.05, 5.0, True),
        (SO_NEAR + 0.05, 5.0, False),
        (1.0, 1.0 / FAR_NEARER + 0.05, True),
        (1.0, 1.0 / FAR_NEARER - 0.05, False),  # it may be the other line as well
    ],
)
def test_what_sounds_as_a_line_among_those_picked_up_is_one(near: float, far: float, is_line: bool) -> None:
    picked_up = [*WITH_ENDING, _read(FEATHER, 26_000)]
    assert _told(picked_up, near, far) == ([(BUTTON, True)] if is_line else [])


def test_where_nothing_is_picked_up_it_is_talk() -> None:
    assert _told(WITH_ENDING) == []
    assert _told(BOTH_PASSES) == []
    assert _told([*WITH_ENDING, _read(FEATHER, 34_000)]) == [(BUTTON, True)]
    assert _told([_read(OPENING, 0), _read(BUTTON, 2000), _read(ENDING, 34_000)]) == []  # before the ending
    begun = [
        _read(OPENING, 0),
        _read(BUTTON, 2000, full=False),
        _read(ENDING, 20_000),
        _read(BUTTON, 26_000, full=False),
    ]
    assert _told(begun) == []
