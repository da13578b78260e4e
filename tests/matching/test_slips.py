"""Starts with another word than the line's in them."""

from __future__ import annotations

import pytest

from lessoncut.hearing.align import no_aligner
from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Attempt, Unscripted, evenly
from lessoncut.matching.ground import Ground
from lessoncut.matching.settle import settle
from lessoncut.matching.slips import with_slips
from lessoncut.times import Span
from tests.matching.scripts import script
from tests.matching.sounding import sounding
from tests.matching.test_speakers import Colour

FAMILY = """
    Who is on the left?
    My sister, of course.
    Yes.
"""
SAID = """
    1.0  {}   1.6
    2.2  my sister of course  3.9
"""


HERE = Span(1000, 1600)


def starts(
    heard: str, *, line: int = 1, span: Span = HERE, full: bool = True, voice: float = 0.0, later_ms: int = 0
) -> list[tuple[int, str]]:
    """The starts that are found in the talk before the line, as what is begun: the line and its words. ``voice``: how
    far the talk's voice is from that of the line."""
    hearing = told(SAID.format(heard))
    words = tuple(word for word in hearing.words if word.span.end_ms <= 1600)
    ground = Ground(script(FAMILY), hearing, no_aligner, voice_of=lambda of: Colour(voice if of == span else 0.0))
    texts = ground.spoken_words[line]
    reading = Attempt(line, full, len(texts), evenly(texts, Span(2200 + later_ms, 3900 + later_ms)), (), 0.2, laid=True)
    talk = Unscripted(span, words)
    attempts, left = with_slips(ground, [reading], [talk])
    found = [each for each in attempts if each is not reading]
    assert left == ([] if found else [talk])
    assert all(each.span == span and each.heard == words and not each.full for each in found)
    return [(each.line, " ".join(each.texts)) for each in found]


def test_talk_that_begins_as_the_line_and_breaks_off_is_a_start_of_it() -> None:
    assert starts("my brother,") == [(1, "my sister")]
    assert starts("my sis...") == [(1, "my sister")]
    assert starts("my uncle was,") == [(1, "my sister of")]
    assert starts("yours,") == []
    assert starts("my,") == [(1, "my")]


@pytest.mark.parametrize("heard", ["my brother.", "my brother", "her brother,", "my big old brother,", "well,"])
def test_other_talk_stays_talk(heard: str) -> None:
    """What ends as a sentence does, begins otherwise, or says too much."""
    assert starts(heard) == []


def test_a_slip_stands_right_before_a_whole_line_in_one_voice() -> None:
    assert starts("my brother,", voice=5.0) == []
    assert starts("my brother,", full=False) == []
    assert starts("my brother,", later_ms=3000) == []
    assert starts("my brother,", span=Span(400, 2000)) == []
    assert starts("yes,", line=2) == []  # a line of one word has no start but itself


def test_nothing_follows_the_last_talk() -> None:
    ground = Ground(script(FAMILY), told(""), no_aligner)
    talk = Unscripted(Span(1000, 1600), told("1.0  my brother,  1.6").words)
    assert with_slips(ground, [], [talk]) == ([], [talk])


def test_a_slip_is_found_where_a_start_of_the_line_before_is_none() -> None:
    """ "He got..." behind "He got a ship." begins "He ate a chip."."""
    said = """
        1.0  he got a ship        2.4
        3.4  he got...            4.0
        4.8  he ate a chip        6.2
        7.4  and nobody minded    8.8
    """
    text = "He got a ship.\nHe ate a chip.\nAnd nobody minded."
    settled = settle(Ground(script(text), told(said), sounding(said.replace("...", ""))))
    told_as = [(each.line, each.full) for each in settled.attempts]
    assert told_as == [(0, True), (1, False), (1, True), (2, True)]
    assert settled.unscripted == ()


@pytest.mark.parametrize(
    ("rows", "begun", "rest"),
    [
        ("1.0  my brother  1.6\n    2.0  no  2.4", "my sister", ["no"]),
        ("1.0  my brother  1.6\n    2.0  yes  2.4", None, ["my", "brother", "yes"]),  # she does not correct herself
        ("1.0  my brother no  2.4", None, ["my", "brother", "no"]),  # in one breath
        ("1.0  her brother  1.6\n    2.0  no  2.4", None, ["her", "brother", "no"]),
    ],
)
def test_who_says_no_at_once_has_noticed_a_slip(rows: str, begun: str | None, rest: list[str]) -> None:
    hearing = told(f"{rows}\n    3.0  my sister of course  4.7")
    ground = Ground(script(FAMILY), hearing, no_aligner)
    texts = ground.spoken_words[1]
    reading = Attempt(1, True, len(texts), evenly(texts, Span(3000, 4700)), (), 0.2, laid=True)
    talk = Unscripted(Span(1000, 2400), ground.heard_inside(Span(1000, 2400)))
    attempts, left = with_slips(ground, [reading], [talk])
    starts = [each for each in attempts if not each.full]
    assert [(" ".join(each.texts), each.span) for each in starts] == ([(begun, Span(1000, 1600))] if begun else [])
    assert [word.text for each in left for word in each.words] == rest
    assert left[0].span == (Span(2000, 2400) if begun else talk.span)


def test_a_word_of_correction_is_no_slip() -> None:
    """Though the line begins with it."""
    text = "Who is it?\nNo, it is my sister."
    hearing = told("1.0  no,  1.4\n    2.0  no it is my sister  3.9")
    ground = Ground(script(text), hearing, no_aligner)
    texts = ground.spoken_words[1]
    reading = Attempt(1, True, len(texts), evenly(texts, Span(2000, 3900)), (), 0.2, laid=True)
    talk = Unscripted(Span(1000, 1400), ground.heard_inside(Span(1000, 1400)))
    assert with_slips(ground, [reading], [talk]) == ([reading], [talk])
