"""Whose readings are whose, once it is known that somebody repeats."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from lessoncut.hearing.records import HeardWord
from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Attempt, Settled
from lessoncut.matching.ground import Ground
from lessoncut.matching.records import ReadWord
from lessoncut.matching.settle import settle
from lessoncut.matching.speakers import VoiceOf
from lessoncut.matching.teacher import TELLING_MS, of_the_teacher
from lessoncut.times import Span
from tests.matching.scripts import script
from tests.matching.sounding import sounding
from tests.matching.test_speakers import Colour


def reading(at: int, line: int, text: str, *, length_ms: int = 1000, upto: int | None = None) -> Attempt:
    """The reading that begins after ``at`` times two seconds."""
    span = Span(2000 * at, 2000 * at + length_ms)
    texts = text.split()[:upto]
    words = tuple(ReadWord(word, span, None) for word in texts)
    return Attempt(line, upto is None, len(words), words, (), 0.3, laid=True, score=-20.0)


def colours(places: Sequence[float]) -> VoiceOf:
    return lambda span: Colour(places[span.start_ms // 2000])


@pytest.mark.parametrize(("second", "kept"), [(1, 4), (0, 3)])
def test_two_lines_of_the_same_words_in_a_row_are_no_echo_of_one_another(second: int, kept: int) -> None:
    """ "Each?" "Each.": their melodies differ. The same line again in another voice is somebody else."""
    attempts = [reading(0, 0, "each"), reading(1, second, "each"), reading(2, 2, "ice floats"), reading(3, 3, "true")]
    found = of_the_teacher(Settled(tuple(attempts), ()), colours([0.0, 1.0, 0.0, 0.0]))
    assert len(found.attempts) == kept


@pytest.mark.parametrize(("voice", "at", "is_theirs"), [(2.0, 9, True), (0.1, 9, False)])
def test_a_long_start_of_a_line_that_only_she_read_is_whose_voice_it_is_in(
    voice: float, at: int, is_theirs: bool
) -> None:
    lines = ["ice floats", "bats are blind", "rain falls", "true"]
    order = [0, 1, 2, 0, 0, 1, 1, 2, 2]
    attempts = [reading(n, line, lines[line]) for n, line in enumerate(order)]
    attempts += [reading(at, 3, "true as ever", upto=2), reading(10, 3, "true")]
    places = [0.0, 0.1, 0.0, 0.0, 2.0, 0.1, 2.1, 0.0, 2.0, voice, 0.0]
    found = of_the_teacher(Settled(tuple(attempts), ()), colours(places))
    assert (attempts[9] in found.attempts) != is_theirs
    assert len(found.unscripted) == 3 + is_theirs


def test_before_anybody_repeats_all_starts_are_hers() -> None:
    order = [0, 1, 2, 0, 0, 1, 1, 2, 2]
    attempts = [reading(n + 1, line, f"line {line}") for n, line in enumerate(order)]
    start = reading(0, 0, "line 0", upto=1)
    found = of_the_teacher(Settled((start, *attempts), ()), colours([2.0, 0.0, 0.1, 0.0, 0.0, 2.0, 0.1, 2.1, 0.0, 2.0]))
    assert start in found.attempts
    assert len(found.unscripted) == 3


@pytest.mark.parametrize(
    ("text", "voice", "length_ms", "is_theirs"),
    [
        ("rain falls", 2.0, TELLING_MS, True),
        ("rain falls", 0.1, TELLING_MS, False),
        ("rain falls", 2.0, TELLING_MS - 10, False),  # too short to tell
        ("rain comes", 2.0, TELLING_MS, False),  # nobody repeats what was not read yet
    ],
)
def test_what_leads_to_her_line_and_was_read_before_may_be_an_echo(
    text: str, voice: float, length_ms: int, is_theirs: bool
) -> None:
    """ "Rain falls." is the beginning of the next line, too."""
    lines = ["ice floats", "bats are blind", "rain falls", f"{text} all day"]
    order = [0, 1, 2, 0, 0, 1, 1, 2, 2]
    attempts = [reading(n, line, lines[line]) for n, line in enumerate(order)]
    start = reading(9, 3, lines[3], length_ms=length_ms, upto=2)
    heard = tuple(HeardWord(word, start.span, 0.9) for word in start.texts)
    start = replace(start, heard=heard)
    her_line = reading(10, 3, lines[3])
    places = [0.0, 0.1, 0.0, 0.0, 2.0, 0.1, 2.1, 0.0, 2.0, voice, 0.0]
    found = of_the_teacher(Settled((*attempts, start, her_line), ()), colours(places))
    assert (start not in found.attempts) is is_theirs
    assert len(found.unscripted) == 3 + is_theirs


ECHOED = """
    0.0  let it stand beside the oven          1.8
    2.2  let it stand beside the oven          4.0
    5.0  then we cut it into five              6.6
    7.0  then we cut it into five              8.6
   10.0  never boil it                        11.0
   12.0  never boil it                        13.0
   15.0  the knife has to be cold             16.6
   17.0  the knife has to be cold             18.6
   21.0  nobody came to help                  22.6
   23.0  nobody came to help                  24.6
"""
SOUP = """
    Let it stand beside the oven.
    Then we cut it into five.
    Never boil it.
    Never boil it and never leave it to anybody else.
    The knife has to be cold.
    Nobody came to help.
"""


def test_an_echo_that_begins_the_line_which_is_missing_behind_it_is_whose_voice_it_is_in() -> None:
    """As one of the line before it, however little of their voice there is in it."""
    spans = told(ECHOED).speech

    def voice_of(span: Span) -> Colour:
        at = max(range(len(spans)), key=lambda at: spans[at].overlap_ms(span))
        return Colour(0.0 if at % 2 == 0 else 1.5 if at == 5 else 3.0)

    settled = settle(Ground(script(SOUP), told(ECHOED), sounding(ECHOED), voice_of=voice_of))
    assert [(each.line, each.full) for each in settled.attempts] == [(line, True) for line in (0, 1, 2, 4, 5)]
    assert len(settled.unscripted) == len(spans) // 2
