"""Speakers' names and directions in brackets: whether they are said is for the take to tell."""

from __future__ import annotations

import pytest

from lessoncut.hearing.align import no_aligner
from lessoncut.hearing.told import told
from lessoncut.matching.ground import Ground
from lessoncut.matching.lay import Candidate
from lessoncut.matching.sayings import in_same_words
from lessoncut.times import Span
from tests.matching.scripts import script
from tests.matching.sounding import sounding

STAIRS = """
    Nora: Have you seen the lamp?
    Ivan: It is under the stairs.
    Nora: Then bring it up, (slowly and carefully) if you can.
    Landlord: Who is making that noise?
    Ivan: Nobody, it was the wind.
"""
UNSAID = [
    "have you seen the lamp",
    "it is under the stairs",
    "then bring it up if you can",
    "who is making that noise",
    "nobody it was the wind",
]


def as_said(written: str, *heard: str) -> list[str]:
    """The words of the script's lines, in a take with these rows of heard words."""
    take = "\n".join(f"{3 * place}.0  {row}  {3 * place + 2}.0" for place, row in enumerate(heard))
    found, _ = in_same_words(script(written), told(take), sounding(take))
    return [" ".join(line.spoken) for line in found.lines]


def whole(written: str) -> list[str]:
    return [" ".join(line.spoken) for line in script(written).lines]


def test_names_and_directions_that_nobody_says_are_no_words_of_their_lines() -> None:
    assert as_said(STAIRS, *UNSAID) == UNSAID


def test_names_and_directions_that_are_read_out_are() -> None:
    assert as_said(STAIRS, *whole(STAIRS)) == whole(STAIRS)


def test_each_is_judged_by_itself() -> None:
    heard = [row if row not in (UNSAID[2]) else whole(STAIRS)[2].removeprefix("nora ") for row in UNSAID]
    assert as_said(STAIRS, *heard) == heard


def test_misheard_words_tell_it_still() -> None:
    misheard = ["have you seen a lamp", "it is on the stairs", "then bring it if you can", "who's making that noise"]
    assert as_said(STAIRS, *misheard)[:4] == UNSAID[:4]
    named = ["nor a have you seen the lamp", "even it is under the stairs", "ivan nobody it was a wind"]
    assert as_said(STAIRS, *named)[1] == "ivan it is under the stairs"


def test_a_name_before_one_line_only_is_said_where_no_other_is_left_out() -> None:
    items = "Minutes: none were taken.\nThe door: it was found open."
    assert as_said(items, "none were taken", "it was found open") == whole(items)


@pytest.mark.parametrize("text", ["The sound is [v].", "Lay part one (A) on part two (B).", "At 6:45 we leave."])
def test_signs_of_sounds_letters_and_times_are_no_directions(text: str) -> None:
    (line,) = script(text).lines
    assert as_said(text, " ".join(line.spoken).replace(" v", "").replace(" a ", " ")) == [" ".join(line.spoken)]


def test_a_take_in_which_nothing_was_heard_tells_nothing() -> None:
    found, _ = in_same_words(script(STAIRS), told(""), no_aligner)
    assert found == script(STAIRS)


def test_the_recogniser_is_asked_about_what_is_said_only() -> None:
    take = "\n".join(f"{3 * place}.0  {row}  {3 * place + 2}.0" for place, row in enumerate(UNSAID))
    found, hearing = in_same_words(script(STAIRS), told(take), sounding(take))
    ground = Ground(found, hearing, sounding(take))
    written = ground.written(Candidate(2, len(found.lines[2].spoken), Span(6000, 8000)))
    assert written == "Then bring it up, if you can."
    assert ground.written(Candidate(2, 4, Span(6000, 8000))) == "Then bring it up"
