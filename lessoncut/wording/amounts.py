"""The other ways in which a number, a sum of money or a part of a whole may be said: ``350`` is also three fifty.

Common practice of British and American English, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from lessoncut.wording import clocks, dates, numbers

_ROMAN = re.compile(r"(?=[IVX]{2})X{0,3}(?:IX|IV|V?I{0,3})")
_LONGEST_ROMAN = 8
_COMMON_MONEY = "€$£"
_LETTER_OF = {said: letter for letter, said in numbers.SCALES.items() if len(letter) == 1}
_TIMES = {1: "", 2: "double ", 3: "triple "}
_DOZENS = {"6": ("half a dozen",), "12": ("a dozen", "one dozen"), "24": ("two dozen",), "36": ("three dozen",)}
_NOTES = {"£5": ("a fiver",), "£10": ("a tenner",)}
_SLANG = {"$": "bucks", "£": "quid"}


def ways_of_ordinal(written: str) -> Iterator[str]:
    said = numbers.ordinal(written)
    yield from numbers.plainer(said)
    yield from (said.removeprefix("one "), f"the {said}")


def ways_of_number(written: str) -> Iterator[str]:
    whole, *decimals = written.replace(",", "").split(".")
    if len(decimals) > 1:
        return
    if decimals:
        yield from _decimal(whole or "0", decimals[0])
        return
    yield from _DOZENS.get(whole, ())
    if whole == "0":
        yield from ("oh", "nought", "nil", "nothing", "love")
    elif whole.startswith("0"):
        yield from by_digits(whole)
    elif len(whole) > 2:
        if whole.strip("0") == "1":
            yield numbers.cardinal(whole).removeprefix("one ")  # the 100 metres
        yield from numbers.plainer(numbers.cardinal(whole))
        yield from numbers.in_pairs(whole)
        yield from by_digits(whole)
    if len(whole) == 4 and whole.endswith("500"):
        yield f"{numbers.cardinal(whole[0])} and a half thousand"


def ways_of_plural(written: str) -> Iterator[str]:
    """``30s`` may be seconds, ``'60s`` the nineteen sixties."""
    if not written[0].isdecimal():
        yield f"nineteen {numbers.decade(written)}"
    yield f"{numbers.number(re.sub(r'[^0-9]', '', written))} seconds"


def by_digits(whole: str) -> Iterator[str]:
    """``0441``: zero or oh, with "double" for twins or without."""
    plain = numbers.digits(whole)
    for row in (plain, _doubled(whole, 2), _doubled(whole, 3)):
        yield from (row, row.replace("zero", "oh"))
    if hundreds := re.fullmatch(r"0(\d)00", whole):
        yield from (f"{zero} {numbers.cardinal(hundreds[1])} hundred" for zero in ("oh", "zero"))


def _doubled(whole: str, most: int) -> str:
    parts = (match.group() for match in re.finditer(rf"(\d)\1{{0,{most - 1}}}", whole))
    return " ".join(_TIMES[len(part)] + numbers.digits(part[0]) for part in parts)


def _decimal(whole: str, part: str) -> Iterator[str]:
    point = f"point {numbers.digits(part)}"
    value = numbers.cardinal(whole)
    noughts = point.replace("zero", "nought")
    yield from (f"{value} {point.replace('zero', 'oh')}", f"{value} {noughts}", f"{value} {_shorter(point)}")
    half = {"5": "half", "50": "half", "25": "quarter", "75": "three quarters"}.get(part)
    if int(whole) == 0:
        yield from (point, noughts, point.replace("zero", "oh"), f"nought {point}", f"nought {noughts}", f"oh {point}")
        if half:
            yield from (half, f"a {half}", "half a" if half == "half" else f"{half} of a")
        if len(part) == 2:
            yield from (f"{numbers.cardinal(part)} {coin}" for coin in numbers.COINS)
    elif half:
        yield f"{value} and {half if ' ' in half else 'a ' + half}"
    if len(part) == 1:
        yield f"{value} {numbers.cardinal(part)}"
    elif len(part) == 2:
        yield f"{value} point {numbers.cardinal(part)}"
        yield from _as_sum(value, part)
        if int(whole) <= 24 and int(part) < 60:
            yield from (numbers.clock(whole, part), *clocks.by_the_clock(int(whole), int(part)))


def _shorter(point: str) -> str:
    return re.sub("(?: zero)+$", "", point)


def _as_sum(value: str, part: str) -> Iterator[str]:
    """``86.40``: eighty six forty, with the money named or not."""
    small = f"oh {numbers.cardinal(part[1])}" if part[0] == "0" else numbers.cardinal(part)
    if value == "zero" or int(part) == 0:
        return
    yield f"{value} {small}"
    for sign in _COMMON_MONEY:
        one, many, *_ = numbers.units_of(sign)
        yield f"{value} {one if value == 'one' else many} {numbers.cardinal(str(int(part)))}"


def ways_of_money(written: str) -> Iterator[str]:
    sign, amount, scale = numbers.sum_of(written)
    one, many, _, small_many = numbers.units_of(sign)
    whole, _, small = amount.replace(",", "").partition(".")
    value = numbers.cardinal(whole)
    units = one if value == "one" else many
    if scale:
        yield f"{numbers.number(amount) if small else value} {scale}"
        yield f"{numbers.number(amount) if small else value} {_LETTER_OF.get(scale, scale)}"
        yield from (f"{row} {scale} {units}" for row in (_decimal(whole, small) if small else ()))
        return
    if small and (len(small) != 2 or not small_many):
        return
    if not small or int(small) == 0:
        for row in (*numbers.plainer(value), *numbers.in_pairs(whole)):
            yield from (f"{row} {units}", f"{row} {one}")
        yield f"{value} {_SLANG.get(sign, units)}"
        if value == "one":
            yield f"a {one}"
        yield value
        yield from _NOTES.get(written, ())
        return
    parts = numbers.cardinal(str(int(small)))
    if value == "zero":
        yield from (f"{parts} {small_many[0]}", parts)
        return
    for row in numbers.plainer(value):
        yield from (
            f"{row} {units} {parts}",
            f"{row} {units} and {parts} {small_many}",
            f"{row} {units} {parts} {small_many}",
        )
        yield from (f"{row} {parts}" if int(small) > 9 else f"{row} oh {parts}", f"{row} {one} {parts}")
    if value == "one":
        yield from (f"a {one} {parts}", f"a {one} and {parts} {small_many}")
    for said in (numbers.number(amount), *ways_of_number(amount)):
        yield f"{said} {units}"


def ways_of_fraction(written: str) -> Iterator[str]:
    over, under = (numbers.cardinal(str(int(number))) for number in written.split("/"))
    yield from (f"{over} over {under}", f"{over} out of {under}", f"{over} {under}", f"{over} to {under}")
    yield from parts_of_whole(written)
    yield from dates.day_of_year(*(int(number) for number in written.split("/")))


def parts_of_whole(written: str) -> Iterator[str]:
    """Of a whole; nothing for what is none, as ``7/3``, ``1/1`` or ``1/0``."""
    over, under = (int(number) for number in written.split("/"))
    if 0 < over < under <= 10:
        yield from (numbers.fraction(over, under), *_parts_of(over, under))


def ways_of_mixed(written: str) -> Iterator[str]:
    if len(written) == 1:
        yield from _parts_of(*numbers.parts_of(written))


def _parts_of(over: int, under: int) -> Iterator[str]:
    said = numbers.fraction(over, under)
    if under == 4:
        yield said.replace("quarter", "fourth")
    if over == 1:
        name = said.removeprefix("one ")
        yield from (name, f"a {name}", f"{name} a" if name == "half" else f"a {name} of a", f"{name} of a")


def ways_of_roman(written: str) -> Iterator[str]:
    if len(written) > _LONGEST_ROMAN or not _ROMAN.fullmatch(written):
        return
    values = [{"I": 1, "V": 5, "X": 10}[letter] for letter in written]
    value = sum(-a if a < b else a for a, b in zip(values, [*values[1:], 0], strict=True))
    yield from (numbers.cardinal(str(value)), f"the {numbers.ordinal(str(value))}", numbers.ordinal(str(value)))
