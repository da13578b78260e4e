"""A line that is talked about is not read."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Attempt, Unscripted
from lessoncut.matching.ground import Ground
from lessoncut.matching.quotes import with_quotes_apart
from lessoncut.matching.records import ReadWord
from lessoncut.matching.settle import settle
from lessoncut.times import Span
from tests.matching.scripts import FERRY, script
from tests.matching.sounding import sounding

QUOTED = """
    0.0  the ferry leaves at seven                                   1.5
    2.5  vera waits beside the water                                 4.0
    6.0  now remember the ferry leaves at seven is how it goes  {gap}10.0
   12.0  the ferry leaves at seven                                  13.5
   15.0  vera waits beside the water                                16.5
"""


def readings(said: str) -> tuple[int, str]:
    """How often the first line is read, and all the talk."""
    settled = settle(Ground(script(FERRY), told(said), sounding(said)))
    talk = " ".join(word.text for each in settled.unscripted for word in each.words)
    return sum(attempt.full and attempt.line == 0 for attempt in settled.attempts), talk


def test_a_line_in_the_midst_of_talk_is_a_quotation() -> None:
    assert readings(QUOTED.format(gap="")) == (2, "now remember the ferry leaves at seven is how it goes")


@pytest.mark.parametrize(
    "said",
    [
        "6.0  now the ferry leaves at seven  8.0",  # nothing behind it
        "6.0  the ferry leaves at seven is how it goes  8.6",  # nor before
        "6.0  now remember  6.8\n7.2  the ferry leaves at seven  8.7\n9.1  is how it goes  9.9",  # pauses part it
    ],
)
def test_a_line_with_talk_on_one_side_or_behind_a_pause_is_read(said: str) -> None:
    (old,) = (row for row in QUOTED.splitlines() if "remember" in row)
    assert readings(QUOTED.replace(old, said))[0] == 3


ASKED = """
    Carry the glove, he says.
    No?
    Not the left one.
"""
BACK = """
    0.0  carry the glove he says       2.0
    3.0  no                            3.4
    3.6  from the top of that line     5.0
    6.0  carry the glove he says       8.0
    9.0  no                            9.4
   11.0  not the left one             12.5
"""


@pytest.mark.parametrize(
    ("said", "times"),
    [
        (BACK, 1),
        (BACK.replace("3.6", "3.9"), 2),  # a pause parts it
        (BACK.replace("    6.0  carry the glove he says       8.0\n", ""), 2),  # she goes on
        (BACK.replace("from the top of that line     5.0", "sorry                         4.0"), 2),  # hardly talk
    ],
)
def test_a_short_line_that_begins_talk_and_is_gone_back_behind_is_no_reading(said: str, times: int) -> None:
    settled = settle(Ground(script(ASKED), told(said), sounding(said)))
    assert sum(attempt.full and attempt.line == 1 for attempt in settled.attempts) == times


JUST = """
    0.0  carry the glove he says                   2.0
    3.0  no                                        3.4
    5.0  no only one word and a shake of the head  8.0
    9.0  not the left one                         10.5
"""


@pytest.mark.parametrize(
    ("said", "times"),
    [
        (JUST, 1),
        (JUST.replace("no only", "no  5.4\n5.7  only"), 2),  # a pause parts it
        (JUST.replace("only one word and a shake of the head", "only one                             "), 2),
        (JUST.replace("    3.0  no                                        3.4\n", ""), 1),  # her only reading
    ],
)
def test_a_short_line_just_read_that_begins_talk_in_one_breath_is_no_reading(said: str, times: int) -> None:
    settled = settle(Ground(script(ASKED), told(said), sounding(said)))
    assert sum(attempt.full and attempt.line == 1 for attempt in settled.attempts) == times


SORRY = """
    Sorry, I missed that.
    Please say what you saw.
    Thank you.
"""
AGAIN = """
    0.0  sorry i missed that        1.8
    3.0  please say                 3.6
    4.2  sorry                      4.6
    4.8  one more time              5.6
    6.2  please say what you saw    8.0
    9.0  thank you                  9.6
"""


@pytest.mark.parametrize(
    ("said", "starts", "talk"),
    [
        (AGAIN, [1], "sorry one more time"),
        (AGAIN.replace("4.8  one more time", "5.1  one more time"), [1, 0], "one more time"),  # no longer one sentence
    ],
)
def test_a_word_that_begins_talk_between_attempts_at_another_line_is_no_start(
    said: str, starts: list[int], talk: str
) -> None:
    settled = settle(Ground(script(SORRY), told(said), sounding(said)))
    assert [attempt.line for attempt in settled.attempts if not attempt.full] == starts
    assert " ".join(word.text for each in settled.unscripted for word in each.words) == talk


OVEN = """
    I put it into the oven anyway.
    Then we waited for the bell.
"""
GONE_ON = """
    0.0  i put it into the oven anyway                     1.9
    3.0  i put it into the oven anyway if you ask me that  5.8
    7.0  then we waited for the bell                       8.6
"""


@pytest.mark.parametrize(
    ("said", "times"),
    [
        (GONE_ON, 1),
        (GONE_ON.replace("anyway if", "anyway  4.9\n5.2  if"), 2),  # a pause parts it
        (GONE_ON.replace("anyway if", "anyway. If"), 2),  # the recogniser heard the end of a sentence
        (GONE_ON.replace("put it into", "put into").replace("anyway if", "anyway. If"), 1),  # not of all of the line
        (GONE_ON.replace("if you ask me that  5.8", "if                  5.2"), 2),  # hardly talk
        (GONE_ON.replace("    0.0  i put it into the oven anyway                     1.9\n", ""), 1),  # her only one
    ],
)
def test_a_line_just_read_that_begins_talk_in_one_breath_is_no_reading(said: str, times: int) -> None:
    settled = settle(Ground(script(OVEN), told(said), sounding(said)))
    assert sum(attempt.full and attempt.line == 0 for attempt in settled.attempts) == times


WRONG_FOOT = """
    0.0  the ferry leaves at seven        1.5
    2.5  leaned on the wrong foot there   4.5
    6.0  vera waits beside the water      7.6
"""


@pytest.mark.parametrize(
    ("doubt", "pause_ms", "words", "is_start"),
    [
        (1.4, 60, 5, False),
        (0.6, 60, 5, True),  # it was heard
        (1.4, 200, 5, True),  # she broke off
        (1.4, 60, 3, True),  # "no, hang on"
    ],
)
def test_talk_that_a_doubtful_start_runs_into_without_a_pause_began_with_it(
    doubt: float, pause_ms: int, words: int, is_start: bool
) -> None:
    heard = told(WRONG_FOOT)
    ground = Ground(script(FERRY), heard, sounding(WRONG_FOOT))
    before, after = settle(ground).attempts
    leaned, *others = [word for word in heard.words if 2500 <= word.span.start_ms < 4500]
    start = Attempt(
        1, False, 1, (ReadWord("vera", leaned.span, "leaned"),), (leaned,), doubt, laid=True, score=ground.usual_score
    )
    first_ms = leaned.span.end_ms + pause_ms
    talk = Unscripted(Span(first_ms, 4500), tuple(replace(word, span=Span(first_ms, 4500)) for word in others[:words]))
    attempts, left = with_quotes_apart(ground, [before, start, after], [talk])
    assert (start in attempts) is is_start
    assert [len(one.words) for one in left] == [words if is_start else words + 1]


@pytest.mark.parametrize(("behind", "starts"), [("2.6  sorry  3.1", 0), ("2.9  sorry  3.4", 1), ("", 1)])
def test_a_word_of_correction_with_talk_behind_it_is_no_start(behind: str, starts: int) -> None:
    """Though the line begins with it."""
    said = f"0.0  is it far  1.2\n2.0  no  2.4\n{behind}\n4.0  no you have to change  5.8"
    settled = settle(Ground(script("Is it far?\nNo, you have to change."), told(said), sounding(said)))
    assert sum(not attempt.full for attempt in settled.attempts) == starts


HURT = """
    The bridge was closed.
    Nobody was hurt.
"""
LEFT_OUT = """
    0.0  the bridge was closed                              1.8
    4.0  i left out the line about nobody being hurt        7.0
    8.5  nobody was hurt                                   10.0
"""


@pytest.mark.parametrize(
    ("said", "times"),
    [
        (LEFT_OUT, 1),
        (LEFT_OUT.replace("about", "about."), 2),  # a sentence ends there
        (LEFT_OUT.replace("i left out the line about", "about"), 2),  # hardly talk
        (LEFT_OUT.replace("8.5  nobody was hurt                                   10.0\n", ""), 1),  # her only one
    ],
)
def test_talk_whose_sentence_ends_in_the_line_read_next_is_no_reading(said: str, times: int) -> None:
    ground = Ground(script(HURT), told(said), sounding(said.replace("being", "was")))
    settled = settle(ground)
    assert sum(attempt.full and attempt.line == 1 for attempt in settled.attempts) == times
