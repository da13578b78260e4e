"""The other ways of saying a number, a time, a sum or a date."""

from __future__ import annotations

import re

import inflect
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from lessoncut.wording import Saying, spoken, tokens

_INFLECT = inflect.engine()


def ways(text: str, place: int = 0) -> set[str]:
    """All that may be said for one token of the text."""
    token = tokens(text)[place]
    return {" ".join(way) for way in (token.spoken, *token.ways)}


def test_points_of_the_compass_and_inches() -> None:
    """Common practice, no source."""
    assert ways("Winds SE, later SW", 1) == {"south east", "southeast", "s e"}
    assert spoken("Winds SE, later SW") == ("winds", "south", "east", "later", "south", "west")
    assert spoken("Say nw, or New.") == ("say", "nw", "or", "new")
    assert ways("10 in. by 14", 1) == {"inches", "inch", "in"}
    for at_end in ("Left sleeve, 27 in.", "Right sleeve, 27½ in.", 'It says "27 in."'):
        assert spoken(at_end)[-1] == "inches"
    for plain in ("We came in 10 in. The door shut.", "10 in the bag", "It is in. by the door"):
        assert "in" in spoken(plain) and "inches" not in spoken(plain)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("6:45", "six forty five|quarter to seven|a quarter to seven|quarter of seven"),
        ("6:30", "six thirty|half past six"),
        ("12:45", "quarter to one"),
        ("18:20", "eighteen twenty|twenty past six|twenty minutes past six|six twenty"),
        ("7:05", "seven oh five|five past seven|five minutes after seven"),
        ("9:00", "nine|nine o'clock"),
        ("12:00", "twelve|noon|midday|midnight|twelve o'clock"),
        ("0:00", "midnight"),
        ("4:07", "four oh seven|seven minutes past four"),
        ("7.30", "seven thirty|half past seven|seven point three zero"),
        ("6:00 pm", "six p m|six|six o'clock|six in the evening"),
        ("3:30 p.m.", "three thirty p m|half past three|half past three in the afternoon"),
        ("12 a.m.", "twelve a m|midnight"),
        ("11:45 p.m.", "a quarter to midnight|quarter to twelve"),
        ("12:20", "twenty past noon|twenty past twelve"),
        ("00:15", "quarter past midnight"),
        ("22:15", "quarter past ten at night|ten fifteen p m|twenty two fifteen"),
    ],
)
def test_times(text: str, said: str) -> None:
    """Common practice, no source."""
    assert set(said.split("|")) <= ways(text)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("1,104", "eleven hundred and four|eleven hundred four|one thousand one hundred and four"),
        ("1,842", "eighteen hundred and forty two|eighteen forty two"),
        ("4,200", "forty two hundred"),
    ],
)
def test_hundreds_beyond_a_thousand(text: str, said: str) -> None:
    """Common practice, no source."""
    assert set(said.split("|")) <= ways(text)
    assert not any("ten hundred" in way for way in ways("1,004"))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("£2.60", "two pounds and sixty pence|two pounds sixty|two sixty|two pounds sixty pence"),
        ("$1.05", "one dollar and five cents|a dollar five|one oh five"),
        ("£35", "thirty five pounds|thirty five"),
        ("$250", "two hundred and fifty dollars|two hundred fifty dollars"),
        ("1.5", "one point five|one and a half"),
        ("0.5", "zero point five|nought point five|half"),
        ("½", "one half|half a|a half"),
        ("¾", "three quarters|three fourths"),
        ("100th", "one hundredth|hundredth"),
        ("8%", "eight"),
        ("1.3 m", "one point three metres|one metre thirty|a metre thirty|one point three metre"),
        ("2.05m", "two metres five|two point zero five metres|two metres and five centimetres"),
        ("1.5 m", "one and a half metres|a metre and a half"),
        ("£5m", "five million pounds|five million"),
        ("XIV", "fourteen|the fourteenth|xiv"),
        ("0", "zero|oh|nil|nought"),
        ("6.50 euros", "six euros and fifty cents|six euros fifty|six fifty|six point five zero euros"),
        ("7.20 pounds", "seven pounds twenty|seven point two pounds"),
        ("86.40", "eighty six forty|eighty six euros forty|eighty six point four"),
        ("1.05", "one oh five|one point nought five|one dollar five"),
        ("£1,200", "twelve hundred pounds"),
        ("$20", "twenty bucks"),
        ("2,500", "two and a half thousand"),
        ("3/4", "three out of four|three four"),
        ("0.05", "point oh five|nought point nought five"),
        ("0.85", "eighty five pence|eighty five cents"),
        (".3", "point three"),
        ("98.6", "ninety eight six"),
        ("1.50 EUR", "one euro fifty"),
        ("GBP 86.40", "eighty six pounds forty"),
        ("USD 3 million", "three million dollars"),
        ("EUR5", "five euros"),
        ("£250k", "two hundred and fifty k"),
        ("999", "triple nine|nine nine nine"),
        ("0800", "oh eight hundred"),
        ("16s", "sixteens|sixteen seconds"),
        ("6s", "sixes"),
        ("12", "a dozen"),
        ("100", "hundred"),
        ("£5", "a fiver"),
        ("$2.5m", "two and a half million dollars"),
        ("7/2", "seven to two"),
        ("6", "half a dozen"),
        ("0441", "zero four four one|oh four four one|oh double four one"),
    ],
)
def test_sums_and_numbers(text: str, said: str) -> None:
    """Common practice, no source."""
    assert set(said.split("|")) <= ways(text)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("14 May", "the fourteenth of may"),
        ("14 May", "fourteenth may"),
        ("May 14", "may the fourteenth"),
        ("14th May", "the fourteenth of may"),
        ("3 Aug", "the third of august"),
        ("3 May", "may the third"),
        ("3rd of May", "may third"),
        ("Oct. 14", "the fourteenth of october"),
        ("7/12", "the seventh of december"),
        ("7/12", "july twelfth"),
    ],
)
def test_dates(text: str, said: str) -> None:
    """Common practice, no source."""
    assert said in ways(text)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("17/11/1986", "the seventeenth of november nineteen eighty six"),
        ("17/11/1986", "seventeen eleven eighty six"),
        ("17/11/1986", "the seventeenth of november in nineteen eighty six"),
        ("3/11/1986", "march eleventh nineteen eighty six"),
        ("5.3.24", "the fifth of march twenty four"),
        ("2024-11-25", "november twenty fifth twenty twenty four"),
        ("1/2/05", "first of february oh five"),
        ("1/2/2005", "the first of february two thousand five"),
    ],
)
def test_dates_in_digits(text: str, said: str) -> None:
    """Common practice, no source."""
    assert said in ways(text)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("ready by Wed, the coat by Fri", "ready by wednesday the coat by friday"),
        ("Thurs. and Fri. in Aug", "thursday and friday in august"),
        ("150 W at 230 V", "one hundred and fifty watts at two hundred and thirty volts"),
        ("closed Feb-Mar, Weds only", "closed february march wednesday only"),
        ('A 6 ft x 8 ft shed, 6" apart', "a six feet by eight feet shed six inch apart"),
        ('Read "Chapter 6" and stop', "read chapter six and stop"),
        ("A 9-in. tin, a 25-yr loan", "a nine inches tin a twenty five years loan"),
        ("Balance: -£40", "balance minus forty pounds"),
        ("Add 10 gal. of water and 2 pt of milk", "add ten gallons of water and two pints of milk"),
        ("5 kWh, 60 dB, 50 Hz", "five kilowatt hours sixty decibels fifty hertz"),
        ("in 7 min 20 s, in the 1990s", "in seven minutes twenty seconds in the nineteen nineties"),
        ("Wed them in spring", "wed them in spring"),
        ("the sun sat on 3 walls", "the sun sat on three walls"),
    ],
)
def test_short_forms(text: str, said: str) -> None:
    """Units: the symbols of the SI (BIPM brochure, 9th edition, from memory); the others common practice, no source."""
    assert " ".join(spoken(text)) == said


@pytest.mark.parametrize(
    ("text", "place", "said"),
    [
        ("It's on Sat", -1, "saturday"),
        ("Fri", 0, "fri"),
        ("a 13 A plug", 2, "amps"),
        ("2 v 1", 1, "versus"),
        ("800 W", -1, "watt"),
        ("approx. 3", 0, "approx"),
        ("max 5", 0, "maximum"),
        ("Dear Sir/Madam", -1, "or madam"),
        ("Henry V, Act 4", 1, "the fifth"),
        ("WWII", 0, "world war two"),
        ("the '60s", -1, "nineteen sixties"),
        ("Feb-Mar", -1, "to march"),
    ],
)
def test_short_forms_said_otherwise(text: str, place: int, said: str) -> None:
    assert said in ways(text, place)


@pytest.mark.parametrize(("text", "place"), [("room 3 a day", 2), ("the sun", 1), ("they sat", 1), ("vitamin A", 1)])
def test_words_that_are_no_short_forms(text: str, place: int) -> None:
    assert tokens(text)[place].ways == ()


@pytest.mark.parametrize(
    ("text", "last"), [("9-5", "five"), ("9am-5", "five"), ("2:1", "one"), ("10%-15", "fifteen"), ("Mon-Fri", "friday")]
)
def test_a_sign_between_two_numbers_may_be_said(text: str, last: str) -> None:
    assert {last, f"to {last}"} <= ways(text, -1)


def test_a_dash_between_two_numbers_is_said_in_several_ways() -> None:
    assert {"to", "and", "or", "until"} <= ways("pp. 40-41", -2)


@pytest.mark.parametrize("text", ["well-known 5", "3-5", "9 5"])
def test_nothing_is_said_twice_or_out_of_nothing(text: str) -> None:
    assert ways(text, -1) == {"five"}


@pytest.mark.parametrize("text", ["1/2/3", "25/25/2024", "2024-13-25", "12.5.2.1"])
def test_what_is_no_date(text: str) -> None:
    assert not any(month in way for month in ("february", "may", "march") for way in ways(text))


@pytest.mark.parametrize(
    ("text", "day"), [("Come on 14 May.", "14 May"), ("Come on 14 Oct.", "14 Oct."), ("Oct. 14.", "Oct. 14")]
)
def test_the_full_stop_of_a_sentence_is_none_of_a_day(text: str, day: str) -> None:
    assert tokens(text)[-1].text == day


def test_a_day_without_a_month_is_no_date() -> None:
    assert ways("14 rooms") == {"fourteen"}


@given(st.integers(100, 9999))
def test_numbers_against_another_speller(value: int) -> None:
    """inflect 7 spells numbers without "and", digit by digit with "oh", and in pairs."""
    said = ways(f"{value:,}")
    plain = re.sub("[,-]", " ", str(_INFLECT.number_to_words(str(value), andword="")))
    digits = re.sub(", ", " ", str(_INFLECT.number_to_words(str(value), group=1, zero="oh")))
    assert " ".join(plain.split()) in said
    assert digits in said
    if value > 999 and value % 100 > 9:
        pairs = str(_INFLECT.number_to_words(str(value), group=2))
        assert re.sub("[,-]+ ?", " ", pairs) in said


@given(st.text(max_size=60))
@example("a/ƀ")
def test_ways_are_words_as_the_ordinary_way_is(text: str) -> None:
    for token in tokens(text):
        assert token.spoken not in token.ways
        assert len(set(token.ways)) == len(token.ways)
        for way in token.ways:
            assert way and all(re.fullmatch(r"[a-z']+", word) for word in way)


def test_a_saying_stands_where_its_token_stands() -> None:
    text = "At 6:45, not at 6:45."
    told = Saying(text.rindex("6"), ("quarter", "to", "seven"))
    assert " ".join(spoken(text, (told,))) == "at six forty five not at quarter to seven"


@pytest.mark.parametrize(
    ("text", "place", "said"),
    [
        ("made c. 1880", 1, "circa|about|around"),
        ("1 1/2 spoons", 1, "and a half|one half"),
        ("3 3/4 miles", 1, "and three quarters"),
        ("a 30° wash", 1, "thirty degrees|thirty degree|thirty"),
        ("heat it to 180 °C", 3, "one hundred and eighty degrees celsius|one eighty|a hundred and eighty degrees"),
        ("set it to 180C", 3, "one hundred and eighty degrees celsius"),
        ("$40/hr", 1, "per hour|an hour"),
        ("call +44 first", 2, "forty four|four four|double four"),
        ("World War I was", 2, "i|one"),
        ("We know 3² is", 3, "squared"),
        ("A-Z as usual", 1, "to|through"),
        ("7 per cent", 1, "per cent|percent"),
        ("tea w/o milk", 1, "without"),
        ("if 3 > 2 then", 2, "is greater than|is more than"),
        ("1 kg of flour", 0, "one|a"),
        ("1 hr 45 min", 2, "forty five|and forty five"),
        ("86.40 / 5 is", 1, "divided by|over"),
        ("100 - 63", 1, "minus|take away"),
        ("10:15 - 11:00", 1, "eleven|to eleven"),
        ("7–0", 1, "zero|nil|to zero"),
        ("see p. 64", 1, "p|page"),
    ],
)
def test_what_stands_beside_a_number(text: str, place: int, said: str) -> None:
    """Common practice, no source."""
    assert set(said.split("|")) <= ways(text, place)


@pytest.mark.parametrize("part", ["1/0", "1/1", "0/5", "7/3", "12/50", "01/02"])
def test_what_follows_a_number_and_is_no_part_of_a_whole_is_said_as_alone(part: str) -> None:
    assert ways(f"5 {part}", 1) >= ways(part)


@pytest.mark.parametrize("text", ["vitamin c 12", "room c", "c"])
def test_a_letter_is_a_letter_elsewhere(text: str) -> None:
    assert not ways(text, -1 if text != "vitamin c 12" else 1) & {"circa", "about"}
