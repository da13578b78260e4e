"""Units, halves of a unit and heights: ``1½ hrs`` is an hour and a half, ``5'2"`` is five foot two (common practice, no
source)."""

from __future__ import annotations

import re
from collections.abc import Iterator

from lessoncut.wording import amounts, numbers

UNITS = {
    "km": "kilometres", "kg": "kilograms", "cm": "centimetres", "mm": "millimetres", "ml": "millilitres",
    "mph": "miles an hour", "kmh": "kilometres an hour", "km/h": "kilometres an hour", "lb": "pounds",
    "lbs": "pounds", "g": "grams", "m": "metres", "l": "litres", "ft": "feet", "oz": "ounces", "min": "minutes",
    "mins": "minutes", "m2": "square metres", "m²": "square metres", "km2": "square kilometres",
    "km²": "square kilometres", "cm2": "square centimetres", "cm²": "square centimetres", "m3": "cubic metres",
    "m³": "cubic metres", "h": "hours", "k": "thousand", "hr": "hours", "hrs": "hours", "tsp": "teaspoons",
    "tbsp": "tablespoons", "sec": "seconds", "secs": "seconds", "gb": "gigabytes", "mb": "megabytes",
    "tb": "terabytes", "kb": "kilobytes", "mg": "milligrams", "cl": "centilitres", "dl": "decilitres",
    "kcal": "kilocalories", "cal": "calories", "yd": "yards", "yds": "yards", "mi": "miles", "wk": "weeks",
    "wks": "weeks", "yr": "years", "yrs": "years", "kph": "kilometres an hour", "m/s": "metres a second",
    "rpm": "r p m", "sq": "square", "ha": "hectares", "sq m": "square metres", "sq ft": "square feet",
    "sq km": "square kilometres", "mbps": "megabits a second", "gal": "gallons", "qt": "quarts", "pt": "pints",
    "hp": "horsepower", "psi": "p s i", "mpg": "miles to the gallon", "kt": "knots", "kts": "knots",
}  # fmt: skip
SURE_UNITS = ("km", "kg", "cm", "ml", "mph", "hrs", "mins", "secs", "lbs")
"""What is nothing else so written, behind a word as well: "ten km", "a few kg"."""
CASED_UNITS = {
    "W": "watts", "kW": "kilowatts", "MW": "megawatts", "kWh": "kilowatt hours", "V": "volts", "Hz": "hertz",
    "kHz": "kilohertz", "MHz": "megahertz", "GHz": "gigahertz", "dB": "decibels", "mA": "milliamps",
    "st": "stone",
}  # fmt: skip
"""Units only as they are written here."""
OTHER_UNITS = {
    "km": "kilometre|k", "kg": "kilogram|kilos|kilo", "cm": "centimetre", "mm": "millimetre|mil|mils",
    "ml": "millilitre|mil|mils", "mph": "miles per hour|mile an hour|m p h", "kmh": "kilometres per hour",
    "km/h": "kilometres per hour", "lb": "pound", "lbs": "pound", "g": "gram|gramme|grammes", "m": "metre|million",
    "m2": "square metre|metres squared", "m²": "square metre|metres squared", "km2": "square kilometre",
    "km²": "square kilometre", "h": "hour|h", "k": "k", "l": "litre", "ft": "foot", "oz": "ounce", "min": "minute",
    "mins": "minute", "hr": "hour", "hrs": "hour", "tsp": "teaspoon|teaspoon of|teaspoons of",
    "tbsp": "tablespoon|tablespoon of|tablespoons of", "sec": "second", "secs": "second",
    "gb": "gigabyte|gigs|gig|g b", "mb": "megabyte|megs|m b|millibars", "w": "watt|w", "v": "volt|v|versus",
    "kw": "kilowatt|k w", "kwh": "kilowatt hour|k w h", "db": "decibel|d b", "mi": "mile", "yd": "yard", "yr": "year",
    "wk": "week", "yds": "yard", "kcal": "calories|k cal", "kph": "kilometres per hour|k p h",
    "m/s": "metres per second", "rpm": "revolutions per minute|revs per minute", "ha": "hectare|ha", "cal": "cal",
    "tb": "terabyte|t b", "kb": "kilobyte|k b|k", "mg": "milligram", "cl": "centilitre|c l", "dl": "decilitre",
    "gal": "gallon", "qt": "quart", "pt": "pint|part|point",
    "hp": "h p", "psi": "pounds per square inch", "mpg": "miles per gallon|m p g", "kt": "knot",
}  # fmt: skip
LETTERS = {
    "v": "versus", "x": "times|by", "t": "tonnes|tonne|tons|ton", "A": "amps|amp", "C": "celsius", "F": "fahrenheit",
}  # fmt: skip
"""After a number, where each may be something else than a unit."""
_SINGULAR = {"t": "tonne", "A": "amp"}
EACH = {
    "h": "hour", "hr": "hour", "hour": "hour", "min": "minute", "day": "day", "night": "night", "wk": "week",
    "week": "week", "month": "month", "mo": "month", "yr": "year", "year": "year", "kg": "kilogram|kilo", "lb": "pound",
    "person": "person", "litre": "litre",
}  # fmt: skip
"""Behind a stroke: ``$40/hr`` is forty dollars an hour."""
_SHORT_HALVED = (
    "h", "hr", "hrs", "mi", "min", "mins", "yr", "yrs", "km", "cm", "mm", "kg", "g", "lb", "lbs", "oz", "ml", "l", "m",
    "ft", "tsp", "tbsp",
)  # fmt: skip
_HALVED = {short: UNITS[short] for short in _SHORT_HALVED} | {
    word: unit
    for unit in ("hours", "miles", "minutes", "days", "weeks", "months", "years")
    for word in (unit, unit.removesuffix("s"))
}
HALVES = rf"(?<![\d.,/])(?:(?:\d+\s?)?½|\d+\s1/2)\s?(?:{'|'.join(sorted(_HALVED, key=len, reverse=True))})\b"
HEIGHT = r"""(?<![\w.,/])\d{1,2}['’′]\s?\d{1,2}(?:["”″]|''|’’|′′)"""

_NAMES_OF_UNITS = frozenset(
    (*UNITS.values(), *CASED_UNITS.values(), *numbers.CURRENCY_NAMES, *numbers.COINS, "degrees", "percent")
)


def is_unit(word: str) -> bool:
    """Whether a spoken word names a unit or a currency: said behind a figure, it may be but how that is read."""
    return word in _NAMES_OF_UNITS


def one_of(short: str) -> Iterator[str]:
    """``km``: kilometre; nothing for what is no unit."""
    if short.lower() in OTHER_UNITS:
        yield OTHER_UNITS[short.lower()].split("|")[0]
    elif short in _SINGULAR:
        yield _SINGULAR[short]


def each_of(written: str) -> list[str]:
    """``/kg``: kilogram, kilo."""
    return EACH[written.strip(" /").lower()].split("|")


def ways_of_each(written: str) -> Iterator[str]:
    for one in each_of(written):
        yield from (_a(one), f"per {one}", f"each {one}", one)


def heat(written: str) -> str:
    """``-5 °C`` behind its sign: five degrees celsius; ``180C``, too."""
    amount, scale = _degrees(written)
    return f"{numbers.number(amount)} degree{'' if amount == '1' else 's'}{scale}"


def ways_of_heat(written: str) -> Iterator[str]:
    """With the scale, without it, or the number alone: ``180 °C`` may be one eighty."""
    amount, scale = _degrees(written)
    whole = amount.isdecimal()
    pairs = numbers.in_pairs(amount) if whole and not amount.endswith("00") else ()
    for row in dict.fromkeys([numbers.number(amount), *numbers.plainer(numbers.number(amount)), *pairs]):
        yield from (f"{row} degrees", row, f"{row} degree", f"{row} degrees{scale}")
        if scale:
            yield from (f"{row}{scale}", f"{row} degrees {scale[1]}", f"{row} {scale[1]}")
        if scale == " celsius":
            yield f"{row} degrees centigrade"


def _degrees(written: str) -> tuple[str, str]:
    amount, letter = re.split(r"[\s°]*(?=[CFcf]|$)", written, maxsplit=1)
    return amount.rstrip("° "), {"c": " celsius", "f": " fahrenheit"}.get(letter.lower(), "")


def halves(written: str) -> str:
    """``2½ hrs``: two and a half hours; ``½ hr``: half an hour."""
    whole, unit = _parts(written)
    return f"{numbers.cardinal(whole)} and a half {unit}" if whole else f"half {_a(_one(unit))}"


def ways_of_halves(written: str) -> Iterator[str]:
    """What else is said: ``1½ hrs`` is also an hour and a half, ``2½ kg`` two and a half kilos."""
    whole, unit = _parts(written)
    rows = list(_ways_of_halves(whole, unit))
    yield from rows
    if unit == "kilograms":
        yield from (row.replace("kilogram", "kilo") for row in (halves(written), *rows))
    if unit == "metres":
        yield f"{numbers.cardinal(whole)} and a half million" if whole else "half a million"


def _ways_of_halves(whole: str, unit: str) -> Iterator[str]:
    one = _one(unit)
    if not whole:
        yield from (f"a half {one}", f"one half {one}", f"half of {_a(one)}", f"half {one}")
    elif int(whole) == 1:
        yield from (f"{_a(one)} and a half", f"one {one} and a half", f"one and a half {one}")
    else:
        yield f"{numbers.cardinal(whole)} {unit} and a half"


def _one(unit: str) -> str:
    return "foot" if unit == "feet" else unit.removesuffix("s")


def _parts(written: str) -> tuple[str, str]:
    amount, unit = re.split(r"\s?(?:½|1/2)\s?", written)
    return amount, _HALVED[unit.lower()]


def _a(one: str) -> str:
    return f"{'an' if one in ('hour', 'ounce') else 'a'} {one}"


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


def ways_of_metres(written: str) -> Iterator[str]:
    """``1.3 m``: one metre thirty."""
    amount = written.rstrip("mM ")
    whole, part = amount.split(".")
    value, parts = numbers.cardinal(whole), numbers.cardinal(f"{part}0"[:2].lstrip("0") or "0")
    unit = "metre" if value == "one" else "metres"
    for row in (f"{value} {unit}", *(["a metre"] if value == "one" else [])):
        yield from (f"{row} {parts}", f"{row} {numbers.cardinal(part)}", f"{row} {parts} centimetres")
        yield from (f"{row} and {parts} centimetres", *([f"{row} and a half"] if parts == "fifty" else []))
    for said in (numbers.number(amount), *amounts.ways_of_number(amount)):
        yield from (f"{said} metres", f"{said} metre", f"{said} million")
