"""Talk that lasts as long as the rest of the line it breaks off is no rest of it."""

from __future__ import annotations

import pytest

from lessoncut.hearing.told import told
from lessoncut.matching.settle import settle
from tests.matching.scripts import script
from tests.matching.sounding import sounding

SORTING = """
    The van is late again.
    Is that a parcel, or are you yawning?
    The river is wide and very cold.
"""
SAID = """
    0.0  the van is late again                 1.8
    3.0  is that a parcel or                   4.2
    4.8  no no no again                        5.8
    6.2  is that a parcel or are you yawning   8.2
    9.0  the river is wide and very cold      11.0
"""


@pytest.mark.parametrize(("rest", "full"), [("no no no again", [False, True]), ("are you yawning ", [True, True])])
def test_surely_heard_talk_behind_a_pause_is_no_end_of_a_line(rest: str, full: list[bool]) -> None:
    said = SAID.replace("no no no again ", f"{rest:<15}")
    settled = settle(script(SORTING), told(said), sounding(said))
    assert [attempt.full for attempt in settled.attempts if attempt.line == 1] == full
    talk = [word.text for each in settled.unscripted for word in each.words]
    assert talk == ([] if all(full) else rest.split())


COATS = """
    The van is late again.
    I looked in my other coat.
    The river is wide and very cold.
"""
LOOKED = """
    0.0  the van is late again              1.8
    3.0  i looked in                        4.0
    4.2  oh bother again                    5.4
    6.2  i looked in my other coat          8.2
    9.0  the river is wide and very cold   11.0
"""


def test_talk_that_is_somewhat_like_a_lines_end_is_told_by_how_much_better_it_lies() -> None:
    settled = settle(script(COATS), told(LOOKED), sounding(LOOKED))
    assert [attempt.full for attempt in settled.attempts if attempt.line == 1] == [False, True]
    assert [word.text for each in settled.unscripted for word in each.words] == ["oh", "bother", "again"]
    misheard = LOOKED.replace("oh bother again", "my other coat  ")
    settled = settle(script(COATS), told(LOOKED), sounding(misheard))
    assert [attempt.full for attempt in settled.attempts if attempt.line == 1] == [True, True]
