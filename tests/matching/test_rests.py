"""A line broken at its comma whose rest sounds much like another line."""

from __future__ import annotations

import pytest

from lessoncut.hearing.told import told
from lessoncut.matching.settle import settle
from tests.matching.scripts import script
from tests.matching.sounding import sounding

QUEUE = """
    The ferry leaves at seven.
    Thank you for waiting, you are number fourteen in the queue.
    You are number thirteen in the queue.
    The river is wide and very cold.
    Vera waits beside the water.
"""
SAID = """
    0.0  the ferry leaves at seven                1.5
    2.5  thank you for waiting                    3.7
    4.3  you are number fourteen in the queue     6.2
    8.0  you are number thirteen in the queue     9.9
   11.0  the river is wide and very cold         13.0
   14.0  vera waits beside the water             15.5
"""


@pytest.mark.parametrize(("second", "lines"), [("fourteen", [0, 1, 2, 3, 4]), ("thirteen", [0, 1, 2, 2, 3, 4])])
def test_a_starts_own_rest_is_not_the_line_that_is_like_it(second: str, lines: list[int]) -> None:
    said = SAID.replace("fourteen", second)
    settled = settle(script(QUEUE), told(said), sounding(said))
    assert [attempt.line for attempt in settled.attempts] == lines
    assert settled.attempts[1].full == (second == "fourteen")


COMMAS = """
    The ferry leaves at seven.
    Both begin with a full stop, tongue up, nothing moving.
    The river is wide and very cold.
    Vera waits beside the water.
"""
STOPPED = """
    0.0  the ferry leaves at seven        1.5
    3.0  both begin with a full stop      4.8
    5.3  tongue up                        5.9
    6.3  nothing moving                   7.3
   10.0  the river is wide and very cold  12.0
   15.0  vera waits beside the water      16.5
"""


def test_a_rest_in_two_parts_of_which_one_was_misheard_is_the_lines() -> None:
    heard = STOPPED.replace("tongue up ", "turned out")
    settled = settle(script(COMMAS), told(heard), sounding(STOPPED))
    assert [(attempt.line, attempt.full) for attempt in settled.attempts] == [(at, True) for at in range(4)]
    assert settled.unscripted == ()
