"""How a take says the script's numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from lessoncut.hearing.align import no_aligner
from lessoncut.hearing.records import Alignment, AlignmentRequest
from lessoncut.hearing.told import told
from lessoncut.matching.ground import Ground
from lessoncut.matching.sayings import in_same_words
from lessoncut.matching.settle import settle
from tests.matching.scripts import script
from tests.matching.sounding import sounding

MARKET = """
    The market opens at 6:45 in summer.
    Meet Vera in room 204.
    It costs £2.60.
    The code is 7714-09.
"""


def said(heard: str, sound: str | None = None) -> list[str]:
    """The words of the script's lines as the take says them."""
    as_said, _ = in_same_words(script(MARKET), told(heard), sounding(sound or heard))
    return [" ".join(line.spoken) for line in as_said.lines]


def test_what_is_not_in_the_take_is_said_the_ordinary_way() -> None:
    assert said("0.0  something else was said  2.0") == [
        "the market opens at six forty five in summer",
        "meet vera in room two hundred and four",
        "it costs two pounds and sixty pence",
        "the code is seven seven one four zero nine",
    ]


@pytest.mark.parametrize("way", ["quarter to seven", "a quarter to seven", "six forty five"])
def test_heard_words_tell_how_a_time_is_said(way: str) -> None:
    assert said(f"0.0  the market opens at {way} in summer  3.0")[0] == f"the market opens at {way} in summer"


@pytest.mark.parametrize("way", ["two oh four", "two zero four", "two hundred and four", "two hundred four"])
def test_where_digits_were_heard_the_sound_tells(way: str) -> None:
    heard = "0.0  the market opens  1.5\n2.0  meet vera in room {}  4.0"
    assert said(heard.format("204"), heard.format(way))[1] == f"meet vera in room {way}"


def test_without_an_aligner_digits_are_said_the_ordinary_way() -> None:
    heard = told("2.0  meet vera in room 204  4.0")
    as_said, hearing = in_same_words(script(MARKET), heard, no_aligner)
    assert as_said == script(MARKET)
    assert hearing.words[-1].text == "two hundred and four"


@pytest.mark.parametrize("spelt", ["7714-09", "7-7-1-4-0-9", "seven seven one four oh nine"])
def test_a_code_heard_digit_by_digit(spelt: str) -> None:
    heard, sound = (f"1.0  the code is {way}  4.0" for way in (spelt, "seven seven one four oh nine"))
    assert said(heard, sound)[3] == "the code is seven seven one four oh nine"


def test_only_the_words_around_a_number_are_asked_about_and_others_only_where_the_first_is_not_borne_out() -> None:
    street = script(
        "On the left of the long quiet road you will see number 204, a shop that sells old clocks and lamps."
    )
    before, after = "on the left of the long quiet road you will see number", "a shop that sells old clocks and lamps"
    asked: list[AlignmentRequest] = []

    def way(sound: str) -> str:
        asked.clear()
        said, heard = (f"1.0  {before}  5.0  {number}  6.0  {after}  9.0" for number in (sound, "204"))

        def ask(requests: Sequence[AlignmentRequest]) -> tuple[Alignment, ...]:
            asked.extend(requests)
            return sounding(said)(requests)

        return " ".join(in_same_words(street, told(heard), ask)[0].lines[0].spoken)

    assert way("two hundred and four") == f"{before} two hundred and four {after}"
    assert [request.words[:3] for request in asked] == [("will", "see", "number")]
    assert way("two oh four") == f"{before} two oh four {after}"
    assert len(asked) > 1


def test_heard_digits_are_spelt_as_the_script_says_them() -> None:
    """Only the words are: their times and how sure the recogniser was stay."""
    heard = told("1.0  meet vera in room 204 today 1234 and 950  4.0")
    told_out = script("Meet Vera in room two oh four.\nNine fifty.")
    as_said, hearing = in_same_words(told_out, heard, sounding("1.0  nothing  2.0"))
    assert as_said == told_out
    assert [word.text for word in hearing.words][4:] == ["two oh four", "today", "1234", "and", "nine fifty"]
    assert tuple(replace(word, text="") for word in hearing.words) == tuple(replace(w, text="") for w in heard.words)


def test_a_line_whose_number_is_said_otherwise_is_no_dropped_line() -> None:
    heard = """
        0.0  the market opens at quarter to seven in summer  3.0
        4.0  meet vera in room two oh four                   6.0
        7.0  it costs two pounds sixty                       9.0
       10.0  the code is double seven one four oh nine      13.0
    """
    as_said, hearing = in_same_words(script(MARKET), told(heard), sounding(heard))
    settled = settle(Ground(as_said, hearing, sounding(heard)))
    assert [(attempt.line, attempt.full, attempt.changes) for attempt in settled.attempts] == [
        (place, True, ()) for place in range(4)
    ]
    assert settled.unscripted == ()


@pytest.mark.parametrize(("unit", "upto_s"), [("millimetres", 3.5), ("mil", 4.0)])
def test_a_way_behind_which_speech_goes_on_is_only_the_beginning_of_what_was_said(unit: str, upto_s: float) -> None:
    """ "Mil" lies as well on the beginning of "millimetres" as on itself."""
    before = "1.0  rain since midnight six point two"
    sounds = {way: sounding(f"{before}  3.0  {way}  {end_s}") for way, end_s in (("mil", upto_s), (unit, 4.0))}

    def ask(requests: Sequence[AlignmentRequest]) -> tuple[Alignment, ...]:
        return tuple(sounds["mil" if "mil" in each.words else unit]([each])[0] for each in requests)

    heard = told("1.0  rain since midnight 6.2  3.0  millimeters  4.0")
    as_said, _ = in_same_words(script("Rain since midnight: 6.2 mm."), heard, ask)
    assert as_said.lines[0].spoken[-1] == unit


def test_inches_that_the_recogniser_writes_short_are_inches() -> None:
    heard = told("0.0  left sleeve 27 in.  2.0\n3.0  come in.  4.0")
    as_said, hearing = in_same_words(script("Left sleeve, 27 in.\nCome in."), heard, no_aligner)
    assert as_said.lines[0].spoken == ("left", "sleeve", "twenty", "seven", "inches")
    assert [word.text for word in hearing.words if word.text.startswith("in")] == ["inches", "in."]
