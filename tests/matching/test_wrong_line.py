"""Who begins the wrong line is told so."""

from __future__ import annotations

import pytest

from lessoncut.hearing.align import no_aligner
from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Attempt
from lessoncut.matching.ground import Ground
from lessoncut.matching.lay import Ask
from lessoncut.matching.records import ReadWord
from lessoncut.matching.wrong_line import with_starts_of_wrong_lines
from lessoncut.times import Span
from tests.matching.scripts import script
from tests.matching.sounding import sounding

BAKERY = """
    In the evening the baker's son wakes up.
    In the evening the baker's mother counts the money.
    In the evening the shop is shut.
    In the evening the shop is cold.
    In the evening.
"""


@pytest.mark.parametrize("hears", [True, False])
@pytest.mark.parametrize(
    ("heard", "line"),
    [
        ("in the evening the baker's mother", 1),
        ("in the evening the ~baker's mother", 0),  # not surely heard
        ("in the evening the baker's sun", 0),  # no line's words
        ("in the evening the shop is", 0),  # of which line nobody can tell
        ("in the evening the baker's", 0),  # its own
        ("in the evening", 0),
    ],
)
def test_a_start_heard_as_another_lines_first_words_is_of_that_line(heard: str, line: int, hears: bool) -> None:
    rows = f"1.0  {heard}  3.0"
    hearing = told(rows)
    ask: Ask = sounding(rows.replace("~", "")) if hears else no_aligner
    ground = Ground(script(BAKERY), hearing, ask, 150.0)
    words = tuple(ReadWord(text, Span(1000, 3000), None) for text in ground.spoken_words[0][:6])
    start = Attempt(0, False, 6, words, hearing.words, 1.0, laid=True)
    (found,) = with_starts_of_wrong_lines(ground, [start])
    assert (found.line, found.full) == (line, False)
    assert found.heard == hearing.words
    assert line == 0 or found.texts[-1] == "mother"
