"""Halves of a unit, heights and ranks as they are read out (common practice, no source)."""

from __future__ import annotations

import pytest

from lessoncut.wording.said import tokens


def said(text: str) -> dict[str, list[str]]:
    """Each token with what is said for it, the ordinary way first."""
    return {token.text: [" ".join(row) for row in (token.spoken, *token.ways)] for token in tokens(text)}


@pytest.mark.parametrize(
    ("text", "ways"),
    [
        ("1½ hrs", ["one and a half hours", "an hour and a half", "one hour and a half"]),
        ("1 1/2 miles", ["one and a half miles", "a mile and a half"]),
        ("2½ weeks", ["two and a half weeks", "two weeks and a half"]),
        ("2 ½ hours", ["two and a half hours"]),
        ("21 1/2 mins", ["twenty one and a half minutes"]),
        ("½ hr", ["half an hour", "a half hour", "half hour"]),
        ("½ mile", ["half a mile", "half of a mile"]),
        ("1½ cm", ["one and a half centimetres", "a centimetre and a half"]),
        ("2½ kg", ["two and a half kilograms", "two and a half kilos", "two kilos and a half"]),
        ("½ oz", ["half an ounce", "half ounce"]),
        ("1½ ft", ["one and a half feet", "a foot and a half"]),
        ("2½ m", ["two and a half metres", "two and a half million"]),
    ],
)
def test_halves_of_a_unit(text: str, ways: list[str]) -> None:
    rows = said(f"It took {text}, a sheet and some string.")[text]
    assert rows[0] == ways[0]
    assert set(ways) <= set(rows)
    assert len(rows) == len(set(rows))


@pytest.mark.parametrize(("text", "words"), [("12½%", "twelve and a half"), ("½ cup", "one half"), ("7.1/2 mi", None)])
def test_other_halves_are_numbers(text: str, words: str | None) -> None:
    assert next(iter(said(text).values()))[0] == (words or "seven point one")


@pytest.mark.parametrize(
    ("text", "unit", "row"),
    [
        ("0.8 t", "t", "of a tonne"),
        ("0.8 t", "t", "tons"),
        ("0.3 km", "km", "of a kilometre"),
        (".5 l", "l", "of a litre"),
    ],
)
def test_less_than_one_of_a_unit(text: str, unit: str, row: str) -> None:
    assert row in said(f"It is {text}.")[unit]
    assert "of a tonne" not in said("It weighs 2.5 t.")["t"]


@pytest.mark.parametrize("written", ["5'2\"", "5’2”", "5′2″", "5' 2\"", "5'2''"])
def test_feet_and_inches(written: str) -> None:
    rows = said(f"You're {written}, aren't you?")[written]
    assert rows == ["five foot two", "five feet two", "five feet two inches", "five foot two inches", "five two"]


def test_one_inch_is_one() -> None:
    assert "six foot one inch" in said("He's 6'1\" tall.")["6'1\""]


@pytest.mark.parametrize(
    ("text", "word", "rows"),
    [
        ("Wait, Revd Wainwright.", "Revd", ["reverend", "revd"]),
        ("Ask Prof. Lin.", "Prof.", ["professor", "prof"]),
        ("Capt Reid knows.", "Capt", ["captain", "capt"]),
        ("They rev the engine.", "rev", ["rev"]),
        ("Read Rev twice.", "Rev", ["rev"]),
    ],
)
def test_a_rank_is_said_in_full_before_a_name(text: str, word: str, rows: list[str]) -> None:
    assert said(text)[word] == rows


@pytest.mark.parametrize(
    ("text", "word", "row"),
    [
        ("Ten km, two kg.", "km", "kilometres"),
        ("Ten km, two kg.", "kg", "kilograms"),
        ("One km more.", "km", "kilometre"),
        ("How many lbs is that?", "lbs", "pounds"),
        ("Say mm and then m.", "mm", "mm"),
        ("Kg is short for it.", "Kg", "kg"),
    ],
)
def test_a_unit_behind_a_word_is_said_in_full(text: str, word: str, row: str) -> None:
    assert row in said(text)[word]
