"""A remark that takes up the line just read is talk; a line read again, rightly or wrongly, is read."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Attempt, Unscripted
from lessoncut.matching.ground import EDGE_MS, Ground
from lessoncut.matching.records import Change, ReadWord
from lessoncut.matching.remarks import NEAR, with_remarks_apart
from lessoncut.times import Span
from tests.matching.scripts import FERRY, script
from tests.matching.sounding import sounding

VERA = ("vera", "waits", "beside", "the", "water")
SAID = """
    2.0  vera waits beside the water               4.0
    5.5  vera really does wait beside the water    7.9
    9.0  a woman waves from the window            11.0
"""
MORE = Change(1, 1, ("waits",), ("really", "does", "wait"), support=20.0, confidence=0.9)
OTHER = Change(4, 4, ("water",), ("window",), support=20.0, confidence=0.9)


def reading(start_ms: int, *changes: Change, line: int = 1, full: bool = True) -> Attempt:
    words = tuple(
        ReadWord(text, Span(start_ms + 400 * at, start_ms + 400 * at + 400), text) for at, text in enumerate(VERA)
    )
    return Attempt(line, full, len(VERA), words, (), 0.3, laid=True, changes=changes, score=-20.0)


def apart(*attempts: Attempt) -> tuple[list[Attempt], list[str]]:
    """The readings and the talk."""
    ground = Ground(script(FERRY), told(SAID), sounding(SAID), syllable_ms=200.0, usual_score=-20.0)
    kept, talk = with_remarks_apart(ground, attempts, [])
    return kept, [" ".join(word.text for word in one.words) for one in talk]


def test_more_words_right_behind_the_line_read_rightly_are_a_remark() -> None:
    read, again, next_line = reading(2000), reading(5500, MORE), reading(9000, line=2)
    kept, talk = apart(read, again, next_line)
    assert kept == [read, next_line]
    assert talk == ["vera really does wait beside the"]


@pytest.mark.parametrize(
    "attempts",
    [
        (reading(2000), reading(5500)),  # read again
        (reading(2000), reading(5500, OTHER)),  # with a wrong word
        (reading(2000, OTHER), reading(5500, MORE)),  # put right, in a way
        (reading(2000, full=False), reading(5500, MORE)),  # begun before
        (reading(2000, line=0), reading(5500, MORE)),  # never read
        (reading(2000), reading(5500, MORE), reading(9000)),  # and once more
    ],
)
def test_what_else_stands_behind_a_line_is_read(attempts: tuple[Attempt, ...]) -> None:
    assert apart(*attempts) == (list(attempts), [])


def test_a_start_is_no_remark() -> None:
    attempts = [reading(2000), replace(reading(5500, MORE), full=False)]
    assert apart(*attempts) == (attempts, [])


ON = """
    2.0  vera waits beside the water               4.0
    5.5  a woman waves from the window             7.5
    9.0  vera really does wait beside the water   11.4  or so they say  12.5
"""


@pytest.mark.parametrize(("runs_on", "between", "is_remark"), [(True, 1, True), (False, 1, False), (True, NEAR, False)])
def test_a_few_lines_later_it_is_one_if_she_goes_on_talking(runs_on: bool, between: int, is_remark: bool) -> None:
    ground = Ground(script(FERRY), told(ON), sounding(ON), syllable_ms=200.0, usual_score=-20.0)
    others = [replace(reading(5500 + 100 * at), line=2) for at in range(between)]
    again = reading(9000, MORE)
    behind = Unscripted(Span(again.span.end_ms + (0 if runs_on else EDGE_MS), 12_500), ground.hearing.words[-4:])
    kept, talk = with_remarks_apart(ground, [reading(2000), *others, again], [behind])
    assert (again in kept) is not is_remark
    assert len(talk) == 1
    assert (talk[0].span.start_ms == 9000) is is_remark
