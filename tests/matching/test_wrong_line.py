"""Who begins the wrong line is told so."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from lessoncut.hearing.align import no_aligner
from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Attempt, evenly
from lessoncut.matching.ground import Ground
from lessoncut.matching.lay import Ask
from lessoncut.matching.records import ReadWord
from lessoncut.matching.wrong_line import LEAST_MS, LOWER, NEARER, with_starts_of_wrong_lines
from lessoncut.times import Span
from tests.matching.scripts import script
from tests.matching.sounding import Begun, scoring, sounding

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


@pytest.mark.parametrize(
    ("heard", "apart", "line"),
    [
        ("~in ~the ~even", NEARER, 1),
        ("~in ~the ~even", NEARER + 0.05, 0),
        ("it lifted", NEARER, 1),
        ("in the evening", NEARER, 0),  # it was surely heard
    ],
)
def test_a_start_is_of_the_line_that_it_sounds_far_more_like(heard: str, apart: float, line: int) -> None:
    hearing = told(f"1.0  {heard}  2.0")
    own, its = Span(4000, 7000), Span(9000, 12_000)

    def begins(span: Span, others: Sequence[Span]) -> list[Begun]:
        assert span == Span(1000, 2000)
        return [Begun(1.0 if other == own else apart, 900) for other in others]

    ground = Ground(script(BAKERY), hearing, no_aligner, 150.0, begins=begins)
    texts = ground.spoken_words
    readings = [
        Attempt(at, True, len(texts[at]), evenly(texts[at], span), (), 0.2, laid=True)
        for at, span in ((0, own), (1, its))
    ]
    start = Attempt(0, False, 3, evenly(texts[0][:3], Span(1000, 2000)), hearing.words, 1.0, laid=True)
    found, *rest = with_starts_of_wrong_lines(ground, [start, *readings])
    assert rest == readings
    assert (found.line, found.full, found.upto) == (line, False, 3)
    assert with_starts_of_wrong_lines(ground, [start, readings[1]]) == [start, readings[1]]  # its own is not read
    for lower, is_its in ((LOWER - 1, line == 1), (LOWER + 1, False)):
        laid = replace(ground, align=scoring(lambda *_, lower=lower: -20.0 - lower))
        found, *_ = with_starts_of_wrong_lines(laid, [replace(start, score=-20.0), *readings])
        assert (found.line == 1) is is_its
    short = replace(start, words=evenly(start.texts, Span(1000, 1000 + LEAST_MS - 1)))
    assert with_starts_of_wrong_lines(ground, [short, *readings]) == [short, *readings]
