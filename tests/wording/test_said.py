"""A text as the words that are said for it."""

import calendar
import time

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from lessoncut import wording
from lessoncut.wording import Token, spoken, tokens
from lessoncut.wording.said import LONGEST_WORD


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("The vet's van, Vera's vest.", "the vet's van vera's vest"),
        ("I don’t know — it’s well-known…", "i don't know it's well known"),
        ("“Very well,” she said.", "very well she said"),
        ("'em and 'tis, 'quoted', o’clock", "'em and 'tis quoted o'clock"),
        ("the dogs' bowls", "the dogs bowls"),
        ("Zoë ate a crêpe in a façade, straße", "zoe ate a crepe in a facade strasse"),
        ("cafe\u0301", "cafe"),
        ("R&D & you", "r and d and you"),
        ("jo.lund@example.com", "jo dot lund at example dot com"),
        ("see...what", "see what"),
        ("vvvv shhh", "vvvv shhh"),
        ("", ""),
        ("— … !? 🎈", ""),
    ],
)
def test_words(text: str, said: str) -> None:
    assert " ".join(spoken(text)) == said


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("7", "seven"),
        ("1,250", "one thousand two hundred and fifty"),
        ("3.5", "three point five"),
        ("3.50", "three point five zero"),
        ("0.05", "zero point zero five"),
        ("1.2.3", "one point two point three"),
        ("007", "zero zero seven"),
        ("1984", "nineteen eighty four"),
        ("1907", "nineteen oh seven"),
        ("2005", "two thousand and five"),
        ("2024", "twenty twenty four"),
        ("1,984", "one thousand nine hundred and eighty four"),
        ("the 1990s, the '90s", "the nineteen nineties the nineties"),
        ("21st, 2nd, 1,000th", "twenty first second one thousandth"),
        ("7:30 a.m.", "seven thirty a m"),
        ("7:05 pm", "seven oh five p m"),
        ("10am", "ten a m"),
        ("7.15 p.m.", "seven fifteen p m"),
        ("I am 7", "i am seven"),
        ("19:00", "nineteen"),
        ("$1", "one dollar"),
        ("$3.50", "three dollars and fifty cents"),
        ("£0.01", "one penny"),
        ("£2 million", "two million pounds"),
        ("€1.5 billion", "one point five billion euros"),
        ("¥1", "one yen"),
        ("50¢", "fifty cents"),
        ("5%", "five percent"),
        ("20 °C", "twenty degrees celsius"),
        ("5 km, 5km", "five kilometres five kilometres"),
        ("½, 3½, 1/2, 3/4, 2/3", "one half three and a half one half three quarters two thirds"),
        ("24/7", "twenty four seven"),
        ("pages 3-5, 1990–1995", "pages three to five nineteen ninety to nineteen ninety five"),
        ("555-0142", "five five five zero one four two"),
        ("Code 7714-09.", "code seven seven one four zero nine"),
        ("0800-555-0199", "zero eight zero zero five five five zero one nine nine"),
        ("24-7", "twenty four seven"),
        ("1914-18", "nineteen fourteen eighteen"),
        ("100-150", "one hundred to one hundred and fifty"),
        ("it is -5", "it is minus five"),
        ("B12 and H2O", "b twelve and h two o"),
        ("no. 5, #1", "number five number one"),
        (
            "£5m, $20k, £1.2bn, 5 €",
            "five million pounds twenty thousand dollars one point two billion pounds five euros",
        ),
        ("6ft 2in, 2x4, 12 x 8", "six feet two inches two by four twelve by eight"),
        ("10%-15%, Mon-Fri", "ten percent fifteen percent monday friday"),
        ("38 m2, 4 m³, 5k", "thirty eight square metres four cubic metres five thousand"),
        ("250 g, 3 mins, 60 km/h", "two hundred and fifty grams three minutes sixty kilometres an hour"),
    ],
)
def test_numbers(text: str, said: str) -> None:
    """The forms are those of spoken English in Quirk et al., A Comprehensive Grammar (1985), 6.63-6.68: from memory."""
    assert " ".join(spoken(text)) == said


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Dr. Vane and Mr Fenn", "doctor vane and mister fenn"),
        ("Mrs. Lund", "missus lund"),
        ("St. Vera's on Vine St.", "saint vera's on vine street"),
        ("e.g. the U.S.", "e g the u s"),
        ("Ph.D.", "p h d"),
        ("J. R. Vane", "j r vane"),
        ("No. I won't.", "no i won't"),
        ("Feb. 3", "february the third"),
        ("Mon 3 Aug, Sat. 5 Dec.", "monday the third of august saturday the fifth of december"),
        ("Sat on a mat.", "sat on a mat"),
        ("I met Jan.", "i met jan"),
        ("wolves vs. foxes, etc.", "wolves versus foxes et cetera"),
    ],
)
def test_abbreviations(text: str, said: str) -> None:
    assert " ".join(spoken(text)) == said


def test_sounds_between_slashes_keep_their_phonetic_letters() -> None:
    assert spoken("/v/ is not /w/, /θ/ is not [ð], and /ʃiːp/ is not /ˈʃɪp/") == (
        "v", "is", "not", "w", "θ", "is", "not", "ð", "and", "ʃiːp", "is", "not", "ʃɪp"
    )  # fmt: skip


def test_a_token_knows_its_characters_and_its_words() -> None:
    assert tokens("Pay $3 now.") == (
        Token("Pay", 0, 3, ("pay",)),
        Token("$3", 4, 6, ("three", "dollars"), (("three", "dollar"), ("three", "bucks"), ("three",))),
        Token("now", 7, 10, ("now",)),
    )


@given(st.text(max_size=80))
def test_tokens_lie_inside_the_text_in_order(text: str) -> None:
    end = 0
    for token in tokens(text):
        assert end <= token.start < token.end <= len(text)
        assert text[token.start : token.end] == token.text
        assert token.spoken
        end = token.end


@given(st.text(max_size=80))
@example("Ꭰ")  # Cherokee, whose small letters fold to the capitals
def test_spoken_words_are_normalised(text: str) -> None:
    for word in spoken(text):
        assert word and len(word) <= LONGEST_WORD
        assert word == word.lower()
        assert not any(char.isspace() or char in "’“”,.!?-" for char in word)


@given(st.lists(st.sampled_from(["vest", "don't", "7", "3.5", "$2", "café", "a.m.", "Mr.", "well-known"]), max_size=8))
def test_words_are_said_the_same_alone_and_in_a_row(parts: list[str]) -> None:
    """The recogniser's words come one by one, the script's in lines."""
    assert spoken(" ".join(parts)) == tuple(word for part in parts for word in spoken(part))


@pytest.mark.parametrize("unit", ["a", "1", "1,", "a.", "a'", "/a", "$1", "1/", "1-", "1:", ".", "é", "½"])
def test_time_is_linear_in_the_text(unit: str) -> None:
    """Hostile rows of one sign: 200,000 characters, a generous bound that a quadratic pattern breaks by far."""
    started = time.process_time()
    tokens(unit * (200_000 // len(unit)))
    assert time.process_time() - started < 10


def test_the_days_of_the_week_and_several_of_them() -> None:
    """As the standard library names them in English."""
    days = [day.lower() for day in calendar.day_name]
    assert all(wording.is_weekday(day) and wording.is_weekday(f"{day}s") for day in days)
    assert not any(map(wording.is_weekday, ["day", "today", "birthday", "sun", "may", "s", ""]))
