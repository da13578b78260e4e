"""A line that a recogniser makes the same other words of in every pass."""

from __future__ import annotations

import pytest

from lessoncut.hearing.told import told
from lessoncut.matching.ground import Ground
from lessoncut.matching.missing_twice import with_lines_missing_twice
from lessoncut.matching.settle import settle
from tests.matching.scripts import script
from tests.matching.sounding import sounding

CLOCK = """
    Who wound the clock?
    Tick, tock.
    Nobody has wound it since the spring.
    It never stops for long.
"""
TAKE = """
    0.0  who wound the clock  1.4
    2.4  ONCE  3.0
    4.0  nobody has wound it since the spring  6.2
    7.0  it never stops for long  8.4
   12.0  who wound the clock  13.4
   16.4  AGAIN  17.0
   20.0  nobody has wound it since the spring  22.2
   25.0  it never stops for long  26.4
"""
LONG = "and that was a rather long remark about it"


def take(once: str, again: str | None) -> str:
    """With that heard in the places of the line, in the second pass perhaps not even that."""
    lines = TAKE.splitlines()
    found = [line.replace("ONCE", once) for line in lines if again or "AGAIN" not in line]
    said = "\n".join(found).replace("AGAIN", again or "")
    return said.replace("3.0\n", "3.9\n").replace("17.0", "19.9") if once == LONG else said


LINES = [0, 1, 2, 3, 0, 1, 2, 3]


@pytest.mark.parametrize("again", ["deep target", "deep targets"])
def test_what_is_heard_in_the_place_of_a_missing_line_in_every_pass_is_that_line(again: str) -> None:
    heard = take("deep target", again)
    settled = settle(Ground(script(CLOCK), told(heard), sounding(heard)))
    assert [each.line for each in settled.attempts] == LINES
    assert settled.attempts[1].full
    assert settled.unscripted == ()


@pytest.mark.parametrize(
    ("once", "again"),
    [
        ("deep target", "good morning"),  # two remarks
        ("who wound clocks", "who wound clocks"),  # the line before, said again
        (LONG, LONG),
        ("deep target", None),
        ("deep target  2.6\n   2.7  deep target", None),  # twice, but in one place
    ],
)
def test_other_talk_stays_talk(once: str, again: str | None) -> None:
    heard = take(once, again)
    here = Ground(script(CLOCK), told(heard), sounding(heard))
    settled = settle(here)
    attempts, talk = [*settled.attempts], [*settled.unscripted]
    assert with_lines_missing_twice(here, attempts, talk) == (attempts, talk)
    assert 1 not in {each.line for each in attempts if each.full}
