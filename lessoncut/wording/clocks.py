"""Times of the day as they may be said (common practice, no source)."""

from __future__ import annotations

import re
from collections.abc import Iterator

from lessoncut.wording import numbers

_FIVES = {5: "five", 10: "ten", 15: "quarter", 20: "twenty", 25: "twenty five", 30: "half"}
_MERIDIEMS = {"a": "in the morning", "p": "in the afternoon|in the evening|at night"}


def hour(written: str) -> str:
    """``7:05 pm``: seven oh five p m."""
    hours, minutes, half = _of_half_day(written)
    return f"{numbers.clock(hours, minutes)} {half} m"


def _of_half_day(written: str) -> tuple[str, str, str]:
    found = re.match(r"(\d+)(?:[:.](\d\d))?\s?([ap])", written.lower())
    assert found  # the pattern in ``said`` found it
    return found[1], found[2] or "00", found[3]


def parts_of_day(meridiem: str) -> list[str]:
    """``p.m.``: in the afternoon, in the evening, at night."""
    return _MERIDIEMS[meridiem[0].lower()].split("|")


def ways_of_hour(written: str) -> Iterator[str]:
    """With the part of the day, or without."""
    hours, minutes, half = _of_half_day(written)
    for row in dict.fromkeys([numbers.clock(hours, minutes), *by_the_clock(int(hours), int(minutes))]):
        yield row
        yield from _with_half(row, half)


def clock(written: str) -> str:
    """``7:05``: seven oh five."""
    return numbers.clock(*_hours_and_minutes(written))


def ways_of_clock(written: str) -> Iterator[str]:
    """``6:45`` is also quarter to seven; ``22:15``, quarter past ten at night."""
    hours, minutes = map(int, _hours_and_minutes(written))
    yield from by_the_clock(hours, minutes)
    if hours > 12:
        for row in dict.fromkeys(by_the_clock(hours - 12, minutes)):
            yield from _with_half(row, "p")


def _with_half(row: str, half: str) -> Iterator[str]:
    """With the half of the day: a or p m, in the morning."""
    yield from (f"{row} {half} m", *(f"{row} {part}" for part in parts_of_day(half)))


def _hours_and_minutes(written: str) -> list[str]:
    return re.split(r"[:.]", written)


def by_the_clock(hours: int, minutes: int) -> Iterator[str]:
    """The clock's own ways, by the hour's quarters and by fives; after noon by both names of the hour."""
    for hour in dict.fromkeys([(hours - 1) % 12 + 1, hours]):
        said, following = numbers.cardinal(str(hour)), numbers.cardinal(str(hour % 12 + 1))
        plain = numbers.clock(str(hour), f"{minutes:02}")
        yield plain
        if minutes == 0:
            yield from (f"{said} o'clock", f"{said} hundred", f"{said} hundred hours", f"{said} zero zero")
        elif minutes < 10:
            yield from (f"{said} zero {numbers.cardinal(str(minutes))}", f"{said} {numbers.cardinal(str(minutes))}")
        if minutes % 5 == 0 and 0 < minutes <= 30:
            for name in _names(said, hour):
                yield from _beside(_FIVES[minutes], ("past",) if minutes == 30 else ("past", "after"), name)
            if minutes == 30:
                yield f"half {said}"
        elif minutes % 5 == 0 and minutes > 30:
            for name in _names(following, hour + 1):
                yield from _beside(_FIVES[60 - minutes], ("to", "of", "till"), name)
        elif minutes:
            yield f"{numbers.cardinal(str(minutes))} minutes past {said}"
            yield f"{numbers.cardinal(str(60 - minutes))} minutes to {following}"
    if hours == 0 and minutes:
        yield f"zero zero {numbers.cardinal(str(minutes))}"
    if minutes == 0 and hours % 12 == 0:
        yield from ("noon", "midday", "twelve noon") if hours else ("midnight", "twelve midnight")
        yield "midnight"


def _names(said: str, hour: int) -> tuple[str, ...]:
    """What the hour, ``said`` so, is called behind "to" and "past"."""
    return (said,) if hour % 12 else (said, "midnight", "noon", "midday")


def _beside(part: str, words: tuple[str, ...], hour: str) -> Iterator[str]:
    for word in words:
        yield f"{part} {word} {hour}"
        if part == "quarter":
            yield f"a quarter {word} {hour}"
        elif part != "half":
            yield f"{part} minutes {word} {hour}"
