"""Talk that lasts as long as the rest of the line it breaks off is no rest of it."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Attempt, Unscripted
from lessoncut.matching.ground import Ground
from lessoncut.matching.records import ReadWord
from lessoncut.matching.settle import settle
from lessoncut.matching.talk import not_read, with_talk_apart
from lessoncut.times import Span
from tests.matching.scripts import script
from tests.matching.sounding import scoring, sounding

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
    settled = settle(Ground(script(SORTING), told(said), sounding(said)))
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
    settled = settle(Ground(script(COATS), told(LOOKED), sounding(LOOKED)))
    assert [attempt.full for attempt in settled.attempts if attempt.line == 1] == [False, True]
    assert [word.text for each in settled.unscripted for word in each.words] == ["oh", "bother", "again"]
    misheard = LOOKED.replace("oh bother again", "my other coat  ")
    settled = settle(Ground(script(COATS), told(LOOKED), sounding(misheard)))
    assert [attempt.full for attempt in settled.attempts if attempt.line == 1] == [True, True]


QUEUE = """
    The van is late again.
    You're now number ten in the queue.
    The river is wide and very cold.
"""
GOES_ON = """
    0.0  the van is late again                 1.8
    3.0  you're now number ten in              4.6
    5.0  let me do that  6.0  again            6.8
    8.0  you're now number ten in the queue   10.2
   11.0  the river is wide and very cold      13.0
"""


@pytest.mark.parametrize(("again", "full"), [(0.95, [False, True]), (0.3, [True, True])])
def test_talk_that_goes_on_behind_what_was_taken_for_a_line_is_judged_by_all_of_its_sound(
    again: float, full: list[bool]
) -> None:
    """ "The queue" lies as well on "me do" as on itself; but it leaves the rest."""
    hearing = told(GOES_ON)
    words = tuple(replace(word, probability=again) if word.span.start_ms == 6000 else word for word in hearing.words)
    hearing = replace(hearing, words=words)
    here = Ground(script(QUEUE), hearing, scoring(lambda _, __: -15.0))
    edges_ms = [3000, 3400, 3700, 4000, 4300, 4600, 5300, 5900]
    texts = here.spoken_words[1]
    spans = [*(Span(*row) for row in pairwise(edges_ms[:6])), Span(5200, 5500), Span(5500, 5900)]
    row = tuple(ReadWord(text, span, None) for text, span in zip(texts, spans, strict=True))
    heard = tuple(word for word in words if 3000 <= word.span.start_ms < 6000)
    line = Attempt(1, True, len(texts), row, heard, 1.5, laid=True, score=-15.0)
    left = [Unscripted(Span(6000, 6800), tuple(word for word in words if 6000 <= word.span.start_ms < 6800))]
    found, talk = with_talk_apart(here, [line], left)
    assert [each.full for each in found] == full[:1]
    said = [word.text for each in talk for word in each.words]
    assert said == (["let", "me", "do", "that", "again"] if not full[0] else ["again"])


@pytest.mark.parametrize(("end_ms", "stays"), [(1800, False), (2300, True), (2600, True)])
def test_talk_that_lies_in_a_reading_is_none(end_ms: int, stays: bool) -> None:
    words = (ReadWord("what", Span(1000, 1500), None), ReadWord("sort", Span(1500, 2000), None))
    reading = Attempt(0, True, 2, words, (), 0.2, laid=True)
    talk = Unscripted(Span(1400, end_ms), ())
    assert not_read([talk], [reading]) == ([talk] if stays else [])
    assert not_read([talk], []) == [talk]
