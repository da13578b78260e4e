"""Dates in digits, and days beside a month, as they may be said (common practice, no source)."""

from __future__ import annotations

import re
from collections.abc import Iterator

from lessoncut.wording import numbers

MONTH = (
    "jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may|june?|july?|aug(?:ust)?|sept?(?:ember)?|oct(?:ober)?"
    "|nov(?:ember)?|dec(?:ember)?"
)
SHORT_MONTHS = {
    "jan": "january", "feb": "february", "mar": "march", "apr": "april", "aug": "august", "sept": "september",
    "oct": "october", "nov": "november", "dec": "december",
}  # fmt: skip
"""Said in full beside a day: elsewhere they may be names or words."""
SHORT_DAYS = {
    "mon": "monday", "tue": "tuesday", "tues": "tuesday", "wed": "wednesday", "weds": "wednesday",
    "thu": "thursday", "thur": "thursday", "thurs": "thursday", "fri": "friday", "sat": "saturday", "sun": "sunday",
}  # fmt: skip
_CALENDAR = re.compile(
    rf"(?:{MONTH}|(?:mon|tues|wednes|thurs|fri|satur|sun)day|{'|'.join(SHORT_DAYS)})\.?", re.IGNORECASE
)
_BEFORE_MONTH = re.compile(rf"\s(?:of\s)?(?:{MONTH})\b", re.IGNORECASE)
_AFTER_MONTH = re.compile(rf"\b(?:{MONTH})\.?\s$", re.IGNORECASE)
DATE = (
    r"(?<![\d/.-])(?:\d{4}-(?:0?[1-9]|1[0-2])-(?:0?[1-9]|[12]\d|3[01])"
    r"|(?:0?[1-9]|[12]\d|3[01])(?P<sign>[/.])(?:0?[1-9]|[12]\d|3[01])(?P=sign)(?:\d{4}|\d\d))(?![\d/])"
)
"""``17/11/1986``, ``17.11.86`` and ``1986-11-17``."""
_NAMES = (
    "", "january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november",
    "december",
)  # fmt: skip
_SHORT_NAMES = "|".join((*(short.title() for short in SHORT_MONTHS), "Jun", "Jul", "Sep"))
_NAMED = rf"(?-i:(?:{'|'.join(name.title() for name in _NAMES if name)})\b|(?:{_SHORT_NAMES})\b\.?)"
_DAY = r"(?:0?[1-9]|[12]\d|3[01])(?:st|nd|rd|th)?"
DAY_AND_MONTH = rf"(?<![\d/.:,-]){_DAY}\s(?:of\s)?{_NAMED}|\b{_NAMED}\s{_DAY}\b(?![:/%]|[.,]\d)"
"""``14 May``, ``3rd of May``, ``Oct. 14``; months have a capital, or they are words, and a full stop of their own only
where they are cut short."""


def is_of_calendar(word: str) -> bool:
    """Whether it is the name of a month or a day, whole or short: English gives these a capital."""
    return _CALENDAR.fullmatch(word) is not None


def is_weekday(word: str) -> bool:
    """Whether a spoken word names a day of the week, or several such days."""
    return word.removesuffix("s") in SHORT_DAYS.values()


def dates(written: str) -> tuple[str, ...]:
    """A date in digits, the day first where that can be: ``17/11/1986`` is the seventeenth of November 1986."""
    first, second, third = re.split(r"[/.-]", written)
    year, orders = third, [(int(first), int(second)), (int(second), int(first))]
    if len(first) == 4:
        year, orders = first, [(int(third), int(second))]
    rows = [row for day, month in orders if month < len(_NAMES) for row in _day_and_month(day, month)]
    rows = rows or [f"{numbers.cardinal(str(int(first)))} {numbers.cardinal(str(int(second)))}"]
    return tuple(f"{row} {of_year}{said}" for of_year in ("", "in ") for row in rows for said in _years(year))


def _day_and_month(day: int, month: int) -> Iterator[str]:
    nth, name = numbers.ordinal(str(day)), _NAMES[month]
    yield from (f"the {nth} of {name}", f"{nth} of {name}", f"{nth} {name}", f"{name} the {nth}", f"{name} {nth}")
    plain = numbers.cardinal(str(day))
    yield from (f"{plain} {name}", f"{plain} {numbers.cardinal(str(month))}")


def day_and_month(written: str) -> tuple[str, ...]:
    """``14 May``: the fourteenth of May; ``May 14``: May fourteenth."""
    (day,) = re.findall(r"\d+", written)
    name = next(word for word in re.findall("[a-z]+", written.lower()) if is_of_calendar(word))
    month = next(number for number, full in enumerate(_NAMES) if full[:3] == name[:3])
    rows = tuple(_day_and_month(int(day), month))
    british = written[:1].isdigit()
    return rows if british else tuple(sorted(rows, key=lambda row: not row.startswith(_NAMES[month])))


def day_of_year(first: int, second: int) -> Iterator[str]:
    """``7/12`` may be the seventh of December, or July the twelfth; nothing where it is no day."""
    for day, month in ((first, second), (second, first)):
        if 0 < day <= 31 and 0 < month < len(_NAMES):
            yield from (row for row in _day_and_month(day, month) if _NAMES[month] in row)


def _years(year: str) -> tuple[str, ...]:
    """``2005`` and ``05``."""
    short = f"oh {numbers.cardinal(year[-1])}" if year[-2] == "0" else numbers.cardinal(year[-2:])
    if len(year) == 2:
        return (short,)
    said = numbers.number(year)
    return tuple(dict.fromkeys([said, said.replace(" and ", " "), *numbers.in_pairs(year), short]))


def days(written: str, before: str, after: str) -> Iterator[str]:
    """What a number between ``before`` and ``after`` may be as the day of a month; nothing where it is none."""
    if not re.fullmatch(r"(?:[12]?\d|3[01])(?:st|nd|rd|th)?", written):
        return
    day = numbers.ordinal(written)
    if _BEFORE_MONTH.match(after):
        of = "" if after[1:4].lower() == "of " else " of"
        yield from (f"the {day}{of}", f"{day}{of}", day)
    elif _AFTER_MONTH.search(before):
        yield from (day, f"the {day}")
