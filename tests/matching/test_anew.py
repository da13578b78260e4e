"""Whether a line was begun anew, where the aligner alone says so."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lessoncut.hearing.align import no_aligner
from lessoncut.hearing.told import told
from lessoncut.matching.anew import LESS_LIKELY, without_unlikely_restarts
from lessoncut.matching.attempts import Attempt
from lessoncut.matching.ground import Ground
from lessoncut.matching.lay import Ask, nobody_weighs
from lessoncut.matching.records import ReadWord
from lessoncut.times import Span
from tests.matching.scripts import script
from tests.matching.sounding import scoring, weighing

LINE = "Buy the eggs first, they sell out."
SAID = told("1.0  buy the fresh eggs first they sell out  4.0")
ONCE, TWICE = -17.0, f"Buy the, {LINE}"
ALIGNER = scoring(lambda *_: -15.0)


def attempts(gap_ms: int, *, hears_start: bool = False) -> list[Attempt]:
    texts, start, line = script(LINE).lines[0].spoken, Span(1000, 1600), Span(1600 + gap_ms, 4000)
    first, words = (tuple(ReadWord(text, span, None) for text in texts) for span in (start, line))
    begun = Attempt(0, False, 2, first[:2], SAID.words[:2] if hears_start else (), 1.0, laid=True)
    return [begun, Attempt(0, True, len(texts), words, SAID.words, 1.0, laid=True)]


def test_a_pause_tells() -> None:
    parted = told("1.0  buy the  1.6\n1.9  buy the fresh eggs first they sell out  4.0")
    weigh = weighing({LINE: ONCE, TWICE: ONCE - LESS_LIKELY - 1})
    ground = Ground(script(LINE), parted, ALIGNER, 150.0, weigh=weigh)
    assert without_unlikely_restarts(ground, attempts(300)) == attempts(300)


@pytest.mark.parametrize(("first_heard", "starts"), [("fresh", 0), ("buy", 1)])
def test_a_first_word_that_was_heard_but_once_may_be_the_lines(first_heard: str, starts: int) -> None:
    weigh = weighing({LINE: ONCE, TWICE: ONCE - LESS_LIKELY - 1})
    start, line = attempts(100, hears_start=True)
    line = replace(line, heard=tuple(word for word in SAID.words if word.text == first_heard))
    found = without_unlikely_restarts(Ground(script(LINE), SAID, ALIGNER, 150.0, weigh=weigh), [start, line])
    assert [each.full for each in found] == [False] * starts + [True]


@pytest.mark.parametrize(
    ("twice", "gap_ms", "hears_start", "ask", "starts"),
    [
        (ONCE - LESS_LIKELY - 1, 100, False, ALIGNER, 0),
        (ONCE - LESS_LIKELY + 1, 100, False, ALIGNER, 1),
        (ONCE - LESS_LIKELY - 1, 300, False, ALIGNER, 0),  # all of it speech
        (ONCE - LESS_LIKELY - 1, 500, False, ALIGNER, 1),  # and too much of it
        (ONCE - LESS_LIKELY - 1, 100, True, ALIGNER, 1),  # they were heard twice
        (ONCE - LESS_LIKELY - 1, 100, False, no_aligner, 1),  # nobody can say where they lie once
    ],
)
def test_a_start_that_the_recogniser_finds_unlikely_is_part_of_its_line(
    twice: float, gap_ms: int, hears_start: bool, ask: Ask, starts: int
) -> None:
    ground = Ground(script(LINE), SAID, ask, 150.0, weigh=weighing({LINE: ONCE, TWICE: twice}))
    given = attempts(gap_ms, hears_start=hears_start)
    found = without_unlikely_restarts(ground, given)
    assert [each.full for each in found] == [False] * starts + [True]
    assert found[-1].heard == SAID.words
    assert starts or found[0].span.start_ms <= 1000
    assert without_unlikely_restarts(replace(ground, weigh=nobody_weighs), given) == given
