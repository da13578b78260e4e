"""Halves of a unit and heights: ``1½ hrs`` is an hour and a half, ``5'2"`` is five foot two (common practice, no
source)."""

from __future__ import annotations

import re
from collections.abc import Iterator

from lessoncut.wording import numbers

_HALVED = {
    "h": "hours", "hr": "hours", "hrs": "hours", "hour": "hours", "hours": "hours", "mi": "miles", "mile": "miles",
    "miles": "miles", "min": "minutes", "mins": "minutes", "minute": "minutes", "minutes": "minutes", "day": "days",
    "days": "days", "week": "weeks", "weeks": "weeks", "month": "months", "months": "months", "yr": "years",
    "yrs": "years", "year": "years", "years": "years",
}  # fmt: skip
HALVES = rf"(?<![\d.,/])(?:(?:\d+\s?)?½|\d+\s1/2)\s?(?:{'|'.join(sorted(_HALVED, key=len, reverse=True))})\b"
HEIGHT = r"""(?<![\w.,/])\d{1,2}['’′]\s?\d{1,2}(?:["”″]|''|’’|′′)"""


def halves(written: str) -> str:
    """``2½ hrs``: two and a half hours; ``½ hr``: half an hour."""
    whole, unit = _parts(written)
    return f"{numbers.cardinal(whole)} and a half {unit}" if whole else f"half {_one(unit)}"


def ways_of_halves(written: str) -> Iterator[str]:
    """What else is said: ``1½ hrs`` is also an hour and a half."""
    whole, unit = _parts(written)
    if not whole:
        one = _one(unit).split()[1]
        yield from (f"a half {one}", f"one half {one}", f"half of {_one(unit)}", f"half {one}")
    elif int(whole) == 1:
        one = _one(unit)
        yield from (f"{one} and a half", f"one {one.split()[1]} and a half", f"one and a half {one.split()[1]}")
    else:
        yield f"{numbers.cardinal(whole)} {unit} and a half"


def _parts(written: str) -> tuple[str, str]:
    amount, unit = re.split(r"\s?(?:½|1/2)\s?", written)
    return amount, _HALVED[unit.lower()]


def _one(unit: str) -> str:
    return f"{'an' if unit == 'hours' else 'a'} {unit.removesuffix('s')}"


def height(written: str) -> str:
    """``5'2"``: five foot two."""
    feet, inches = _feet_and_inches(written)
    return f"{feet} foot {inches}"


def ways_of_height(written: str) -> Iterator[str]:
    """What else is said: with "feet", with "inches", with neither."""
    feet, inches = _feet_and_inches(written)
    for row in (f"{feet} feet {inches}", f"{feet} foot {inches}"):
        yield from (row, f"{row} inch{'' if inches == 'one' else 'es'}")
    yield f"{feet} {inches}"


def _feet_and_inches(written: str) -> tuple[str, str]:
    feet, inches = (numbers.cardinal(str(int(number))) for number in re.findall(r"\d+", written))
    return feet, inches
