"""The other ways in which a number, a time, a sum or a date may be said: ``6:45`` is also ``quarter to seven``.

How a token is said unless told otherwise is written in ``said``; this is what else to expect of a reader. The ways are
those of British and American English (common practice, no source).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from lessoncut.wording import amounts, clocks, dates, measures, numbers, short_forms

_REACHING = re.compile(r"(?:\d(?:\s?[ap]m|%)?(?:[-–:]|\s[-–]\s)|[a-z][-–])$", re.IGNORECASE)
_REACHED = ("number", "hour", "clock", "day", "day_month", "ordinal", "money", "month")
"""Kinds before which a sign may be said: ``to``."""
_STROKE = re.compile(r"[a-z]/$")
_NAME = re.compile(r"\b[A-Z][a-z]+\s$")
_REIGNS = {"V": ("the fifth", "five"), "X": ("the tenth", "ten")}
_YEAR = re.compile(r"\.?\s?\d{3,4}\b")
_WHOLE = re.compile(r"\d\s$")
_OF_SOMETHING = re.compile(r"\s[A-Za-z]")
_BEHIND_UNIT = re.compile(r"\d\s?(?:h|hrs?|hours?|mins?|minutes?|ft|feet|foot|lbs?|pounds?|st|kg|km|m|yrs?|years?)\s$")
_NUMBERED = re.compile(r"\b(?:War|Part|Chapter|Act|Scene|Volume|Book|Section|Unit|Level|Stage|Phase|Type)\s$")
_PAGE = re.compile(r"\.?\s?\d")
_BELOW_ONE = re.compile(r"(?<!\d)0?\.\d+\s?$")


@dataclass(frozen=True)
class Written:
    """What stands in a text between ``before`` and ``after``; ``kind`` names the pattern in ``said`` that found it."""

    kind: str
    text: str
    before: str
    after: str


def other_ways(written: Written) -> tuple[str, ...]:
    """Each as plain words in lower case, likelier ones first; they may hold the ordinary way, too."""
    return tuple(dict.fromkeys(way for rule in _RULES for way in rule(written)))


def signs_before(kind: str, before: str) -> tuple[str, ...]:
    """What may be said for the sign that ``before`` ends in: "to" between numbers or days, "or" between two words."""
    if kind in _REACHED and _REACHING.search(before):
        return ("to", "till", "until")
    return ("or", "slash") if kind == "word" and _STROKE.search(before) else ()


def _listed(table: dict[str, str]) -> Callable[[str], Iterator[str]]:
    def ways(written: str) -> Iterator[str]:
        listed = table.get(written) or table.get(written.lower())
        if listed:
            yield from listed.split("|")

    return ways


_in_full = _listed(short_forms.OTHER_WORDS)
_letter = _listed(measures.LETTERS)


def _word(written: str) -> Iterator[str]:
    yield from amounts.ways_of_roman(written)
    yield from _in_full(written)
    if written in short_forms.CAPITALS:
        yield short_forms.CAPITALS[written]


def _as_it_stands(written: str) -> Iterator[str]:
    """A short form: "approx" for "approx."."""
    yield written.lower().rstrip(".").replace(".", " ")


def _one_of(*ways: str) -> Callable[[str], tuple[str, ...]]:
    return lambda _: ways


_WAYS: dict[str, Callable[[str], Iterable[str]]] = {
    "hour": clocks.ways_of_hour,
    "clock": clocks.ways_of_clock,
    "decade": amounts.ways_of_plural,
    "number": amounts.ways_of_number,
    "date": dates.dates,
    "day_month": dates.day_and_month,
    "heat": measures.ways_of_heat,
    "each": measures.ways_of_each,
    "letters": _one_of("through"),
    "power": lambda written: {"²": ["to the power of two"], "³": ["to the third", "to the power of three"]}[written],
    "percent": _one_of("percent"),
    "slashed": _listed(short_forms.OTHER_SLASHED),
    "ordinal": amounts.ways_of_ordinal,
    "money": amounts.ways_of_money,
    "fraction": amounts.ways_of_fraction,
    "mixed": amounts.ways_of_mixed,
    "meridiem": clocks.parts_of_day,
    "metres": measures.ways_of_metres,
    "halves": measures.ways_of_halves,
    "height": measures.ways_of_height,
    "rank": _as_it_stands,
    "unit": _listed(measures.OTHER_UNITS),
    "sure_unit": _listed(measures.OTHER_UNITS),
    "cased": _listed(measures.OTHER_UNITS),
    "seconds": _one_of("second", "s"),
    "symbol": _listed(short_forms.OTHER_SYMBOLS),
    "dotted": _listed(short_forms.OTHER_DOTTED),
    "word": _word,
    "short": _as_it_stands,
    "day": _as_it_stands,
    "month": _as_it_stands,
    "compass": _listed(short_forms.OTHER_COMPASS),
    "saint": _one_of("saint", "street"),
    "street": _one_of("saint", "street"),
    "pence": _one_of("pence", "penny"),
    "inches": _one_of("inch", "in"),
    "inch_sign": _one_of("inches"),
    "range": _one_of("and", "or", "through", "until", "till"),
    "by": _one_of("times", "x", "multiplied by"),
    "minus": _one_of("take away", "less", "to"),
    "over": _one_of("over", "by", "slash", "or", "out of"),
}


def _day_of_month(written: Written) -> Iterable[str]:
    return dates.days(written.text, written.before, written.after) if written.kind in {"number", "ordinal"} else ()


def _behind_a_unit(written: Written) -> Iterator[str]:
    """``1 hr 45``: and forty five."""
    if written.kind == "number" and _BEHIND_UNIT.search(written.before):
        yield f"and {numbers.number(written.text)}"


def _behind_a_whole(written: Written) -> Iterator[str]:
    """``2 3/4``: two and three quarters."""
    if written.kind == "fraction" and _WHOLE.search(written.before):
        parts = [f"and {part}" for part in amounts.parts_of_whole(written.text)]
        yield from (*parts, *(part.removesuffix("s") for part in parts))


def _whatever_stands_beside(written: Written) -> Iterable[str]:
    return _WAYS[written.kind](written.text) if written.kind in _WAYS else ()


def _article(written: Written) -> Iterable[str]:
    """``1 spoon``: a spoon."""
    return ("a", "an") if written.text == "1" and _OF_SOMETHING.match(written.after) else ()


def _behind_plus(written: Written) -> Iterable[str]:
    """``+44``: by digits."""
    called = written.kind == "number" and written.before.endswith("+") and written.text.isdecimal()
    return amounts.by_digits(written.text) if called else ()


def _single_letter(written: Written) -> Iterable[str]:
    """``c 1850``, ``p 12``, ``Part I``, ``Henry V``."""
    if written.kind != "word":
        return ()
    if written.text == "c" and _YEAR.match(written.after):
        return ("circa", "about", "around")
    if written.text == "p" and _PAGE.match(written.after):
        return ("page",)
    if written.text in _REIGNS and _NAME.search(written.before):
        return _REIGNS[written.text]
    return ("one", "the first") if written.text == "I" and _NUMBERED.search(written.before) else ()


def _letter_behind_a_number(written: Written) -> Iterator[str]:
    """``2 t``: tonnes."""
    if written.kind == "word" and written.before.rstrip()[-1:].isdigit():
        yield from _letter(written.text)


def _part_of_a_unit(written: Written) -> Iterator[str]:
    """``0.8 km``: nought point eight of a kilometre."""
    if written.kind in {"unit", "sure_unit", "word"} and _BELOW_ONE.search(written.before):
        yield from (f"of a {one}" for one in measures.one_of(written.text))


_RULES: tuple[Callable[[Written], Iterable[str]], ...] = (
    _day_of_month,
    _behind_a_unit,
    _behind_a_whole,
    _whatever_stands_beside,
    _article,
    _behind_plus,
    _single_letter,
    _letter_behind_a_number,
    _part_of_a_unit,
)
"""Those whose ways are likelier come first."""
