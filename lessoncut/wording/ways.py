"""The other ways in which a number, a time, a sum or a date may be said: ``6:45`` is also ``quarter to seven``.

How a token is said unless told otherwise is written in ``said``; this is what else to expect of a reader. The ways are
those of British and American English (common practice, no source).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator

from lessoncut.wording import clocks, dates, measures, numbers

_REACHING = re.compile(r"(?:\d(?:\s?[ap]m|%)?(?:[-–:]|\s[-–]\s)|[a-z][-–])$", re.IGNORECASE)
_YEAR = re.compile(r"\.?\s?\d{3,4}\b")
_WHOLE = re.compile(r"\d\s$")
_OF_SOMETHING = re.compile(r"\s[A-Za-z]")
_BEHIND_UNIT = re.compile(r"\d\s?(?:h|hrs?|hours?|mins?|minutes?|ft|feet|foot|lbs?|pounds?|st|kg|km|m|yrs?|years?)\s$")
_NUMBERED = re.compile(r"\b(?:War|Part|Chapter|Act|Scene|Volume|Book|Section|Unit|Level|Stage|Phase|Type)\s$")
_PAGE = re.compile(r"\.?\s?\d")
_BELOW_ONE = re.compile(r"(?<!\d)0?\.\d+\s?$")
_ROMAN = re.compile(r"(?=[IVX]{2})X{0,3}(?:IX|IV|V?I{0,3})")
_LONGEST_ROMAN = 8
_UNITS = {
    "km": "kilometre|k", "kg": "kilogram|kilos|kilo", "cm": "centimetre", "mm": "millimetre|mil|mils",
    "ml": "millilitre|mil|mils", "mph": "miles per hour|mile an hour|m p h", "kmh": "kilometres per hour",
    "km/h": "kilometres per hour", "lb": "pound", "lbs": "pound", "g": "gram|gramme|grammes", "m": "metre|million",
    "m2": "square metre|metres squared", "m²": "square metre|metres squared", "km2": "square kilometre",
    "km²": "square kilometre", "h": "hour|h", "k": "k", "l": "litre", "ft": "foot", "oz": "ounce", "min": "minute",
    "mins": "minute", "hr": "hour", "hrs": "hour", "tsp": "teaspoon|teaspoon of|teaspoons of",
    "tbsp": "tablespoon|tablespoon of|tablespoons of", "sec": "second", "secs": "second",
    "gb": "gigabyte|gigs|gig|g b", "mb": "megabyte|megs|m b", "w": "watt|w", "v": "volt|v|versus",
    "kw": "kilowatt|k w", "kwh": "kilowatt hour|k w h", "db": "decibel|d b", "mi": "mile", "yd": "yard", "yr": "year",
    "wk": "week", "yds": "yard", "kcal": "calories|k cal", "kph": "kilometres per hour|k p h",
    "m/s": "metres per second", "rpm": "revolutions per minute|revs per minute", "ha": "hectare|ha", "cal": "cal",
    "tb": "terabyte|t b", "kb": "kilobyte|k b|k", "mg": "milligram", "cl": "centilitre|c l", "dl": "decilitre",
}  # fmt: skip
_SYMBOLS = {
    "%": "per cent", "°": "degree", "×": "by|multiplied by", "@": "at sign", "°c": "degrees|degrees c",
    "°f": "degrees|degrees f", "=": "is|are|makes|gives", "+": "and|add|and over|and up|or more|or over",
    "÷": "over|by", "≥": "greater than or equal to", "≤": "less than or equal to",
    "≠": "does not equal|is not|not equal to", "√": "root|square root of", ">": "greater than|is more than|more than",
    "<": "less than|is smaller than|is under",
    "#": "pound|number|hashtag|sharp",
}  # fmt: skip
_DOTTED = {"e.g.": "for example|for instance", "i.e.": "that is", "a.k.a.": "also known as"}
_WORDS = {
    "etc": "et cetera|and so on", "tv": "television|t v", "uk": "united kingdom|u k", "usa": "united states|u s a",
    "ltd": "limited", "inc": "incorporated", "pcm": "per calendar month|a month|p c m", "xl": "extra large|x l",
    "aka": "also known as", "diy": "do it yourself|d i y", "vs": "versus", "approx": "approximately",
    "dept": "department", "max": "maximum", "min": "minimum|minute", "tel": "telephone", "ext": "extension",
    "apt": "apartment", "fig": "figure", "vol": "volume", "ch": "chapter", "pg": "page", "pp": "pages",
    "co": "company", "est": "established", "sq": "square", "ref": "reference", "info": "information",
    "temp": "temperature", "ave": "avenue", "rd": "road", "asap": "as soon as possible", "rsvp": "r s v p",
    "eg": "for example", "ie": "that is", "wc": "w c", "rte": "route", "hwy": "highway", "bldg": "building",
    "govt": "government", "mgr": "manager", "asst": "assistant", "attn": "attention", "avg": "average",
    "intl": "international", "assoc": "association", "univ": "university", "excl": "excluding", "incl": "including",
    "nr": "near", "pkg": "package", "pkt": "packet", "doz": "dozen", "ln": "lane", "pkwy": "parkway",
    "hq": "headquarters", "vols": "volumes", "figs": "figures", "chap": "chapter",
}  # fmt: skip
"""Short forms that are words as well, or are read as they stand."""
_CAPITALS = {short.title(): said for short, said in (dates.SHORT_DAYS | dates.SHORT_MONTHS).items()} | {
    "Jun": "june", "Jul": "july", "Sep": "september",
}  # fmt: skip
_LETTERS = {
    "v": "versus",
    "x": "times|by",
    "t": "tonnes|tonne|tons|ton",
    "A": "amps|amp",
    "C": "celsius",
    "F": "fahrenheit",
}
"""After a number."""
_COMPASS = {
    "ne": "northeast|n e", "nw": "northwest|n w", "se": "southeast|s e", "sw": "southwest|s w",
}  # fmt: skip
_COMMON_MONEY = "€$£"
_LETTER_OF = {said: letter for letter, said in numbers.SCALES.items() if len(letter) == 1}
_TIMES = {1: "", 2: "double ", 3: "triple "}
_SLANG = {"$": "bucks", "£": "quid"}


def other_ways(kind: str, written: str, before: str, after: str) -> tuple[str, ...]:
    """Each as plain words in lower case, likelier ones first; they may hold the ordinary way, too.

    ``kind`` is the name of the pattern in ``said`` that found ``written`` between ``before`` and ``after``.
    """
    ways = _WAYS.get(kind)
    if kind == "word" and written == "c" and _YEAR.match(after):
        return ("circa", "about", "around")
    if kind == "word" and written == "p" and _PAGE.match(after):
        return ("page",)
    if kind == "word" and written == "I" and _NUMBERED.search(before):
        return ("one", "the first")
    if kind == "word" and len(written) == 1:
        letters = tuple(_LETTERS.get(written, "").split("|")) if before.rstrip()[-1:].isdigit() else ()
        return (*letters, *_of_one(letters[1:2], before))
    of_day = dates.days(written, before, after) if kind in ("number", "ordinal") else ()
    row = tuple(ways(written) if ways else ())
    if written == "1" and _OF_SOMETHING.match(after):
        row = (*row, "a", "an")
    if kind == "number" and before.endswith("+") and written.isdecimal():
        row = (*row, *_by_digits(written))
    if kind == "number" and _BEHIND_UNIT.search(before):
        row = (f"and {numbers.number(written)}", *row)
    if kind == "fraction" and _WHOLE.search(before):
        parts = tuple(f"and {part}" for part in _part(written))
        row = (*parts, *(part.removesuffix("s") for part in parts), *row)
    part_of = _of_one(row[:1], before) if kind in ("unit", "sure_unit") else ()
    return tuple(dict.fromkeys([*of_day, *row, *part_of]))


def _of_one(unit: Iterable[str], before: str) -> tuple[str, ...]:
    """``0.8 km`` is also nought point eight of a kilometre."""
    return tuple(f"of a {one}" for one in unit) if _BELOW_ONE.search(before) else ()


def is_reached(before: str) -> bool:
    """Whether "to" may be said between ``before`` and a number or a day: ``9-5``, ``2:1``, ``Mon-Fri``."""
    return _REACHING.search(before) is not None


def _ordinal(written: str) -> Iterator[str]:
    said = numbers.ordinal(written)
    yield from numbers.plainer(said)
    yield from (said.removeprefix("one "), f"the {said}")


def _number(written: str) -> Iterator[str]:
    whole, *decimals = written.replace(",", "").split(".")
    if len(decimals) > 1:
        return
    if decimals:
        yield from _decimal(whole or "0", decimals[0])
        return
    if whole == "0":
        yield from ("oh", "nought", "nil", "nothing", "love")
    elif whole.startswith("0"):
        yield from _by_digits(whole)
    elif len(whole) > 2:
        yield from numbers.plainer(numbers.cardinal(whole))
        yield from numbers.in_pairs(whole)
        yield from _by_digits(whole)
    if len(whole) == 4 and whole.endswith("500"):
        yield f"{numbers.cardinal(whole[0])} and a half thousand"


def _plural(written: str) -> Iterator[str]:
    """``30s`` may be seconds."""
    yield f"{numbers.number(re.sub(r'[^0-9]', '', written))} seconds"


def _by_digits(whole: str) -> Iterator[str]:
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


def _metres(written: str) -> Iterator[str]:
    """``1.3 m``: one metre thirty."""
    amount = written.rstrip("mM ")
    whole, part = amount.split(".")
    value, parts = numbers.cardinal(whole), numbers.cardinal(f"{part}0"[:2].lstrip("0") or "0")
    unit = "metre" if value == "one" else "metres"
    for row in (f"{value} {unit}", *(["a metre"] if value == "one" else [])):
        yield from (f"{row} {parts}", f"{row} {numbers.cardinal(part)}", f"{row} {parts} centimetres")
        yield from (f"{row} and {parts} centimetres", *([f"{row} and a half"] if parts == "fifty" else []))
    for said in (numbers.number(amount), *_number(amount)):
        yield from (f"{said} metres", f"{said} metre", f"{said} million")


def _money(written: str) -> Iterator[str]:
    sign, amount, scale = numbers.sum_of(written)
    one, many, _, small_many = numbers.units_of(sign)
    whole, _, small = amount.replace(",", "").partition(".")
    value = numbers.cardinal(whole)
    units = one if value == "one" else many
    if scale:
        yield f"{numbers.number(amount) if small else value} {scale}"
        yield f"{numbers.number(amount) if small else value} {_LETTER_OF.get(scale, scale)}"
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
    for said in (numbers.number(amount), *_number(amount)):
        yield f"{said} {units}"


def _fraction(written: str) -> Iterator[str]:
    over, under = (numbers.cardinal(str(int(number))) for number in written.split("/"))
    yield from (f"{over} over {under}", f"{over} out of {under}", f"{over} {under}")
    yield from _part(written)
    yield from dates.day_of_year(*(int(number) for number in written.split("/")))


def _part(written: str) -> Iterator[str]:
    """Of a whole; nothing for what is none, as ``7/3``, ``1/1`` or ``1/0``."""
    over, under = (int(number) for number in written.split("/"))
    if 0 < over < under <= 10:
        yield from (numbers.fraction(over, under), *_parts_of(over, under))


def _mixed(written: str) -> Iterator[str]:
    if len(written) == 1:
        yield from _parts_of(*numbers.parts_of(written))


def _parts_of(over: int, under: int) -> Iterator[str]:
    said = numbers.fraction(over, under)
    if under == 4:
        yield said.replace("quarter", "fourth")
    if over == 1:
        name = said.removeprefix("one ")
        yield from (name, f"a {name}", f"{name} a" if name == "half" else f"a {name} of a", f"{name} of a")


def _roman(written: str) -> Iterator[str]:
    if len(written) > _LONGEST_ROMAN or not _ROMAN.fullmatch(written):
        return
    values = [{"I": 1, "V": 5, "X": 10}[letter] for letter in written]
    value = sum(-a if a < b else a for a, b in zip(values, [*values[1:], 0], strict=True))
    yield from (numbers.cardinal(str(value)), f"the {numbers.ordinal(str(value))}", numbers.ordinal(str(value)))


def _listed(table: dict[str, str]) -> Callable[[str], Iterator[str]]:
    def ways(written: str) -> Iterator[str]:
        listed = table.get(written.lower())
        if listed:
            yield from listed.split("|")

    return ways


_in_full = _listed(_WORDS)


def _word(written: str) -> Iterator[str]:
    yield from _roman(written)
    yield from _in_full(written)
    if written in _CAPITALS:
        yield _CAPITALS[written]


def _as_it_stands(written: str) -> Iterator[str]:
    """A short form: "approx" for "approx."."""
    yield written.lower().rstrip(".").replace(".", " ")


def _one_of(*ways: str) -> Callable[[str], tuple[str, ...]]:
    return lambda _: ways


_WAYS: dict[str, Callable[[str], Iterable[str]]] = {
    "hour": clocks.ways_of_hour,
    "clock": clocks.ways_of_clock,
    "decade": _plural,
    "number": _number,
    "date": dates.dates,
    "day_month": dates.day_and_month,
    "heat": measures.ways_of_heat,
    "each": measures.ways_of_each,
    "letters": _one_of("through"),
    "power": lambda written: {"²": ["to the power of two"], "³": ["to the third", "to the power of three"]}[written],
    "percent": _one_of("percent"),
    "slashed": _listed({"w/o": "w o", "c/o": "in care of|c o", "and/or": "and|or"}),
    "ordinal": _ordinal,
    "money": _money,
    "fraction": _fraction,
    "mixed": _mixed,
    "meridiem": clocks.parts_of_day,
    "metres": _metres,
    "halves": measures.ways_of_halves,
    "height": measures.ways_of_height,
    "rank": _as_it_stands,
    "unit": _listed(_UNITS),
    "sure_unit": _listed(_UNITS),
    "cased": _listed(_UNITS),
    "seconds": _one_of("second", "s"),
    "symbol": _listed(_SYMBOLS),
    "dotted": _listed(_DOTTED),
    "word": _word,
    "short": _as_it_stands,
    "day": _as_it_stands,
    "month": _as_it_stands,
    "compass": _listed(_COMPASS),
    "saint": _one_of("saint", "street"),
    "street": _one_of("saint", "street"),
    "pence": _one_of("pence", "penny"),
    "inches": _one_of("inch", "in"),
    "range": _one_of("and", "or", "through", "until", "till"),
    "by": _one_of("times", "x", "multiplied by"),
    "minus": _one_of("take away", "less", "to"),
    "over": _one_of("over", "by", "slash", "or", "out of"),
}
