"""Numbers as the words that are said; the only home of num2words.

Words come back in lower case with plain spaces between them: ``number("1,250")`` is ``one thousand two hundred and
fifty``. British "and" is kept, as num2words writes it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache

from num2words import num2words

MOST_DIGITS = 15
"""A longer row of digits is read out digit by digit: nobody says it as one number."""
_CURRENCIES = {
    "$": ("dollar", "dollars", "cent", "cents"),
    "£": ("pound", "pounds", "penny", "pence"),
    "€": ("euro", "euros", "cent", "cents"),
    "¥": ("yen", "yen", "", ""),
    "₹": ("rupee", "rupees", "paisa", "paise"),
}
SCALES = {"k": "thousand", "m": "million", "bn": "billion", "tn": "trillion"}
CURRENCY_SIGNS = "".join(_CURRENCIES)
_NAMES = {name: sign for sign, (one, many, *_) in _CURRENCIES.items() for name in (one, many)}
_CODES = {"EUR": "€", "GBP": "£", "USD": "$"}
_SIGNS = _NAMES | {code.lower(): sign for code, sign in _CODES.items()}
COINS = tuple(dict.fromkeys(many for *_, many in _CURRENCIES.values() if many))
CURRENCY_CODES = tuple(_CODES)
CURRENCY_NAMES = tuple(sorted(_NAMES, key=len, reverse=True))
_VULGAR = {"½": (1, 2), "⅓": (1, 3), "⅔": (2, 3), "¼": (1, 4), "¾": (3, 4), "⅕": (1, 5), "⅛": (1, 8), "⅜": (3, 8)}
VULGAR_FRACTIONS = "".join(_VULGAR)


def number(written: str) -> str:
    """``1,250``, ``3.50`` (three point five zero), ``007`` (digit by digit), ``1.2.3``, and years from 1010 to 2099."""
    whole, *decimals = written.replace(",", "").split(".")
    if len(decimals) > 1:
        return " point ".join(cardinal(part) for part in (whole, *decimals))
    if decimals:
        return f"{cardinal(whole or '0')} point {digits(decimals[0])}"
    if "," not in written and len(whole) == 4 and 1010 <= int(whole) <= 2099:
        return _said(int(whole), "year")
    return cardinal(whole)


def digits(written: str) -> str:
    """Every digit on its own."""
    return " ".join(_said(int(digit)) for digit in written)


def ordinal(written: str) -> str:
    """``21st`` or ``21``: twenty first."""
    value = re.sub(r"\D", "", written)
    return digits(value) if len(value) > MOST_DIGITS else _said(int(value), "ordinal")


def decade(written: str) -> str:
    """``1990s`` or ``'90s``: (nineteen) nineties; ``16s``: sixteens."""
    said = number(re.sub(r"\D", "", written))
    if said.endswith("y"):
        return f"{said[:-1]}ies"
    return f"{said}es" if said.endswith("x") else f"{said}s"


def clock(hours: str, minutes: str) -> str:
    """``7`` and ``05``: seven oh five. Full hours are the hour alone."""
    if int(minutes) == 0:
        return _said(int(hours))
    late = _said(int(minutes))
    return f"{_said(int(hours))} oh {late}" if int(minutes) < 10 else f"{_said(int(hours))} {late}"


def sum_of(written: str) -> tuple[str, str, str]:
    """Sign, amount and scale ("" for none) of a sum: ``£5m``, ``$2.5 million``, ``5 €``, ``6.50 euros``, ``GBP 5``."""
    found = re.search(r"([\d.,]*\d)\s?([a-z]*)", written.lower())
    assert found  # a sum without digits is none
    if found[2] in _SIGNS:
        return _SIGNS[found[2]], found[1], ""
    sign = _CODES.get(written[:3]) or next(char for char in written if char in _CURRENCIES)
    return sign, found[1], SCALES.get(found[2], found[2])


def money(sign: str, amount: str, scale: str = "") -> str:
    """``$``, ``3.50``: three dollars and fifty cents; ``£``, ``2``, ``million``: two million pounds."""
    one, many, small_one, small_many = _CURRENCIES[sign]
    whole, _, small = amount.replace(",", "").partition(".")
    units = cardinal(whole)
    said_units = f"{units} {one if units == 'one' else many}"
    if scale:
        return f"{number(amount) if small else units} {scale} {many}"
    if not small_many or len(small) != 2 or not small.isdecimal():
        return f"{number(amount)} {many}" if small else said_units
    parts = _said(int(small))
    if int(small) == 0:
        return said_units
    said_parts = f"{parts} {small_one if parts == 'one' else small_many}"
    return said_parts if units == "zero" else f"{said_units} and {said_parts}"


def is_number(word: str) -> bool:
    """Whether a spoken word is part of a number."""
    return word in _words_of_numbers()


@lru_cache(maxsize=1)
def _words_of_numbers() -> frozenset[str]:
    said = [_said(value, form) for value in range(100) for form in ("cardinal", "ordinal")]
    return frozenset(" ".join([*said, "hundred thousand million and oh point"]).split())


def units_of(sign: str) -> tuple[str, str, str, str]:
    """What the sign's money is called: one, many, one and many of its small coins ("" where there are none)."""
    return _CURRENCIES[sign]


def parts_of(sign: str) -> tuple[int, int]:
    """``¾``: 3, 4."""
    return _VULGAR[sign]


def fraction(over: int, under: int) -> str:
    """``3``, ``4``: three quarters. Raises ValueError below halves."""
    if under < 2:
        raise ValueError(f"not a fraction: {over}/{under}")
    names = {2: "half", 4: "quarter"}
    name = names.get(under) or _said(under, "ordinal")
    plural = {"half": "halves"}.get(name, f"{name}s")
    return f"{_said(over)} {name if over == 1 else plural}"


def mixed(whole: str, sign: str) -> str:
    """``3`` and ``½``: three and a half; the sign alone: one half."""
    over, under = _VULGAR[sign]
    said = fraction(over, under)
    if not whole:
        return said
    return f"{cardinal(whole)} and {'a' + said.removeprefix('one') if over == 1 else said}"


def plainer(said: str) -> Iterator[str]:
    """The number without "and", and with "a" for the first "one"."""
    for row in (said, said.replace(" and ", " ")):
        yield row
        if re.match(r"one (?:hundred|thousand|million)(?:th)?\b", row):
            yield "a" + row.removeprefix("one")


def in_pairs(whole: str) -> Iterator[str]:
    """``204``: two oh four; ``1842``: eighteen forty two, or eighteen hundred and forty two; ``4200``: forty two
    hundred."""
    if len(whole) not in (3, 4):
        return
    high, low = cardinal(whole[:-2]), whole[-2:]
    if low == "00":
        yield f"{high} hundred"
    elif low[0] == "0":
        yield from (f"{high} oh {cardinal(low[1])}", f"{high} zero {cardinal(low[1])}")
    else:
        yield f"{high} {cardinal(low)}"
    if len(whole) == 4 and low != "00" and whole[1] != "0":
        few = _said(int(low))
        yield from (f"{high} hundred and {few}", f"{high} hundred {few}")


def cardinal(written: str) -> str:
    """Plain digits as one number; digit by digit where nobody says it as one."""
    if len(written) > MOST_DIGITS or (len(written) > 1 and int(written[0]) == 0):
        return digits(written)
    return _said(int(written or "0"))


@lru_cache(maxsize=1 << 12)
def _said(value: int, form: str = "cardinal") -> str:
    return " ".join(re.findall(r"[a-z]+", str(num2words(value, lang="en", to=form)).lower()))
