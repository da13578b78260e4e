"""A line's text as the words that are said."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

from lessoncut.wording import clocks, dates, measures, numbers, short_forms, ways

LONGEST_WORD = 64
"""Characters of one spoken word; what is longer is no word, and is cut."""


@dataclass(frozen=True)
class Token:
    """Characters ``[start, end)`` of a text, and the words that are said for them: ``$3`` is ``three dollars``."""

    text: str
    start: int
    end: int
    spoken: tuple[str, ...]
    """Never empty: lower case, no accents, straight apostrophes, no digits."""
    ways: tuple[tuple[str, ...], ...] = ()
    """What else may be said for them, likelier ones first: ``6:45`` is also ``quarter to seven``."""


@dataclass(frozen=True)
class Saying:
    """What is said for the characters of a text that start at ``start``: one of its token's ways."""

    start: int
    spoken: tuple[str, ...]


_CLIPPED = ("em", "tis", "twas", "til", "cause", "bout", "round", "n")
"""Words whose opening apostrophe belongs to them and is not a quotation mark."""
_FOLDED = str.maketrans({"æ": "ae", "œ": "oe", "ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "ı": "i"})
_AROUND = 16
"""Characters beside a token that tell how it may be said."""
_APOSTROPHES = "'’ʼ‘"

_MARK = "\u0300-\u036f\u0591-\u05c7\u064b-\u065f\u0670\u0900-\u0903\u093a-\u094f\u0e31\u0e34-\u0e4e"
_LETTER = rf"(?:[^\W\d_²³][{_MARK}]*)"
_WORD = rf"{_LETTER}+(?:[{_APOSTROPHES}]{_LETTER}+)*"
_NUMBER = r"(?:\d{1,3}(?:,\d{3})+(?!\d)(?:\.\d+)?|\d+(?:\.\d+)*)"
_AFTER_DIGIT = rf"(?:(?<=[\d{numbers.VULGAR_FRACTIONS}])|(?<=[\d{numbers.VULGAR_FRACTIONS}][\s-]))"
_AFTER_DAY = r"(?:(?<=\d\s)|(?<=\d(?:st|nd|rd|th)\s))"
_MONTH = "|".join(dates.SHORT_MONTHS)
_DAY = "|".join(day.title() for day in dates.SHORT_DAYS)
_MONTHS_TITLED = "|".join(month.title() for month in dates.SHORT_MONTHS)
_SURE_DAY = "Tues?|Weds|Thu|Thurs?|Fri"
_SURE_MONTH = "Feb|Apr|Aug|Sept|Oct|Nov"
"""What is nothing else so written, wherever it stands."""
_PATTERN = re.compile(
    rf"""
      (?P<sounds>    (?<=[/\[]){_LETTER}+(?=[/\]]) )
    | (?P<day_month> {dates.DAY_AND_MONTH} )
    | (?P<ordinal>   (?:\d{{1,3}}(?:,\d{{3}})+|\d+)(?:st|nd|rd|th)\b )
    | (?P<decade>    ['’]?\d+['’]?s\b )
    | (?P<hour>      (?<![\d:.,])(?:(?:[01]?\d|2[0-3])[:.][0-5]\d|1?\d)\s?[AaPp](?:[Mm]\b|\.\s?[Mm]\b\.?) )
    | (?P<clock>     (?<![\d:])(?:[01]?\d|2[0-3]):[0-5]\d(?![\d:]) )
    | (?P<meridiem>  {_AFTER_DIGIT}[AaPp](?:[Mm]\b|\.\s?[Mm]\b\.?) )
    | (?P<metres>    (?<![\d.,])\d+\.\d{{1,2}}\s?m\b )
    | (?P<halves>    {measures.HALVES} )
    | (?P<height>    {measures.HEIGHT} )
    | (?P<heat>      \d+(?:\.\d+)?\s?°(?:\s?[CF]\b)? | (?-i:\d{{2,3}}\s?[CF]\b) )
    | (?P<unit>      {_AFTER_DIGIT}(?:{"|".join(map(re.escape, sorted(measures.UNITS, key=len, reverse=True)))})\b )
    | (?P<each>      (?<=\d)\s?/\s?(?:{"|".join(measures.EACH)})\b )
    | (?P<sure_unit> (?<=[a-z]\s)(?-i:{"|".join(measures.SURE_UNITS)})\b )
    | (?P<seconds>   (?-i:(?<=\d\s)s\b) )
    | (?P<cased>     {_AFTER_DIGIT}(?-i:{"|".join(sorted(measures.CASED_UNITS, key=len, reverse=True))})\b )
    | (?P<money>     (?:[{numbers.CURRENCY_SIGNS}] | \b(?-i:{"|".join(numbers.CURRENCY_CODES)})(?=\s?\d))
                     \s?{_NUMBER}(?:\s?(?:thousand|million|billion|trillion|k|m|bn|tn)\b)?
                   | {_NUMBER}\s?€ | \d+\.\d{{2}}\s(?:{"|".join(numbers.CURRENCY_NAMES)})\b
                   | {_NUMBER}\s?(?-i:{"|".join(numbers.CURRENCY_CODES)})\b )
    | (?P<pence>     {_AFTER_DIGIT}p\b(?!\.) )
    | (?P<inch_sign> (?<=[\d{numbers.VULGAR_FRACTIONS}])["″](?=[\s,.;]) )
    | (?P<inches>    (?<=\d)in\b | (?<=\d-)in\b\.?
                   | (?-i:(?<=[\d{numbers.VULGAR_FRACTIONS}]\s)in\.(?=,?\s[a-z\d]|[^\w\s]*$)) )
    | (?P<compass>   (?-i:\b(?:{"|".join(short_forms.COMPASS)})\b) )
    | (?P<by>        (?<=\d)[x×](?=\d) | (?<=[\da-z]\s)[x×](?=\s\d) )
    | (?P<cents>     \d+¢ )
    | (?P<mixed>     \d*[{numbers.VULGAR_FRACTIONS}] )
    | (?P<date>      {dates.DATE} )
    | (?P<fraction>  (?<![\d/])\d{{1,2}}/\d{{1,2}}(?![\d/]) )
    | (?P<range>     (?<=\d)[-–](?=\d) )
    | (?P<letters>   (?-i:(?<=\b[A-Z])(?<![-–][A-Z])[-–](?=[A-Z]\b(?![-–]))) )
    | (?P<minus>     (?<![\w.,)%°])[-−](?=[\d{numbers.CURRENCY_SIGNS}])
                   | (?<=\d\s)(?<!:\d\d\s)[-−](?=\s\d)(?!\s\d\d?:) )
    | (?P<over>      (?<=\d\s)/(?=\s\d) )
    | (?P<number>    {_NUMBER} | (?<![\w.])\.\d+ )
    | (?P<power>     (?<=[\w)])[²³] )
    | (?P<rank>      (?-i:\b(?:{"|".join(sorted(short_forms.RANKS, key=len, reverse=True))})\b\.?(?=\s[A-Z])) )
    | (?P<title>     \b(?:{"|".join(short_forms.TITLES)})\b\.? )
    | (?P<saint>     \b(?-i:St\b\.?(?=\s[A-Z])) )
    | (?P<street>    \bst\. )
    | (?P<month>     \b(?:{_MONTH})\b(?:\.(?=\s?\d)|(?=\s\d)) | {_AFTER_DAY}(?:{_MONTH})\b\.?
                   | (?-i:\b(?:{_SURE_MONTH})\b\.? | (?<=[a-z][-–])(?:{_MONTHS_TITLED})\b) )
    | (?P<day>       (?-i:\b(?:{_DAY})\b\.?(?=,?\s\d|[-–](?:{_DAY})\b) | (?<=[a-z][-–])(?:{_DAY})\b
                   | \b(?:{_SURE_DAY})\b\.? | (?<=[a-z,]\s)Wed\b\.?) )
    | (?P<numbered>  \bno\.(?=\s?\d) | \#(?=\d) | \bn°\.?(?=\s?\d) )
    | (?P<short>     \b(?:{"|".join(map(re.escape, short_forms.SHORT))})\. )
    | (?P<dotted>    (?<![\w.]){_LETTER}(?:\.{_LETTER})+(?![\w'’])\.? )
    | (?P<dot>       (?-i:(?<=[a-z0-9])\.(?=[a-z]{{2,}})) )
    | (?P<clipped>   (?<!\w)[{_APOSTROPHES}](?:{"|".join(_CLIPPED)})\b )
    | (?P<percent>   \bper\scent\b )
    | (?P<slashed>   (?<![\w/])(?:{"|".join(map(re.escape, short_forms.SLASHED))})(?![\w/]) )
    | (?P<word>      {_WORD} )
    | (?P<symbol>    °[CcFf]\b | [&%+=@×÷°≥≤≠±√] | (?<=\s)[<>](?=\s) | (?<=\s)\#(?=\s?[a-z]) | (?<=\d)\# )
    """,
    re.VERBOSE | re.IGNORECASE,
)


@lru_cache(maxsize=1 << 16)
def tokens(text: str, sayings: tuple[Saying, ...] = ()) -> tuple[Token, ...]:
    """The text's words in order, said as ``sayings`` tell; punctuation that is not said belongs to none of them."""
    if not sayings:
        return tuple(_tokens(text))
    told = {saying.start: saying.spoken for saying in sayings}
    return tuple(replace(token, spoken=told.get(token.start, token.spoken)) for token in tokens(text))


def spoken(text: str, sayings: tuple[Saying, ...] = ()) -> tuple[str, ...]:
    """The words that are said for the text, in order."""
    return tuple(word for token in tokens(text, sayings) for word in token.spoken)


def _tokens(text: str) -> Iterator[Token]:
    upto = 0
    for match in _PATTERN.finditer(text):
        words = _words(_said(match))
        if words:
            start, end = match.span()
            upto, unsaid = end, upto < start
            yield Token(match.group(), start, end, words, tuple(_others(match, words, unsaid=unsaid)))


def _others(match: re.Match[str], words: tuple[str, ...], *, unsaid: bool) -> list[tuple[str, ...]]:
    """What else may be said for the token. ``unsaid``: a sign stands before it for which nothing is."""
    start, end = match.span()
    before, after = match.string[max(0, start - _AROUND) : start], match.string[end : end + _AROUND]
    kind = str(match.lastgroup)
    rows = [words, *(_words(way) for way in ways.other_ways(ways.Written(kind, match.group(), before, after)))]
    if unsaid and all(map(str.isascii, words)):  # of letters that are no English ones nobody knows how they are said
        rows += [(sign, *row) for sign in ways.signs_before(kind, before) for row in rows]
    return [row for row in dict.fromkeys(rows) if row and row != words]


def _words(said: str) -> tuple[str, ...]:
    return tuple(word[:LONGEST_WORD] for word in said.split())


def _said(match: re.Match[str]) -> str:
    kind, written = str(match.lastgroup), match.group()
    if kind == "inch_sign":
        return "inch" if _is_of_inches(match.string, match.start()) else ""
    if kind == "range":
        return "to" if _is_range(match.string, match.start(), written) else ""
    if kind == "number" and written.isdecimal() and _is_of_code(match.string, match.start(), match.end()):
        return numbers.digits(written)
    return _SAID[kind](written)


def _is_of_inches(text: str, at: int) -> bool:
    """``6" apart`` is, ``"Take 6" she said`` is not."""
    return text[:at].count(text[at]) % 2 == 0


def _is_range(text: str, at: int, dash: str) -> bool:
    """``3-5`` is three to five, ``555-0142``, ``2024-11-25`` and the score ``7–0`` are not."""
    before, after = re.search(r"[\d-]*$", text[max(0, at - 24) : at]), re.match(r"[\d-]*", text[at + 1 : at + 25])
    low, high = before.group() if before else "", after.group() if after else ""
    if not low.isdecimal() or not high.isdecimal():
        return False
    return int(low) < int(high) and (dash == "–" or len(high) - len(low) <= (1 if len(low) < 3 else 0))


def _is_of_code(text: str, start: int, end: int) -> bool:
    """``555-0142`` and ``7714-09`` are read out digit by digit; ``24-7``, ``1914-18`` and ``2024-11-25`` are not."""
    before, after = re.search(r"(?:\d+-)*$", text[max(0, start - 24) : start]), re.match(r"(?:-\d+)*", text[end:][:24])
    assert before and after  # both match the empty text
    parts = (before.group() + text[start:end] + after.group()).split("-")
    lengths = [len(part) for part in parts]
    if len(parts) == 1 or max(lengths) < 3 or lengths == [4, 2, 2]:
        return False
    years = lengths == [4, 2] and parts[0][2:] < parts[1]
    first_dash = start - len(before.group()) + lengths[0]
    return not years and not (len(parts) == 2 and _is_range(text, first_dash, "-"))


def _plain(written: str) -> str:
    """One word, folded: lower case, no accents, straight apostrophes."""
    if written.isascii():
        return written.lower()
    lowered = unicodedata.normalize("NFKC", written).casefold().lower().translate(_FOLDED)
    lowered = "".join("'" if char in _APOSTROPHES else char for char in lowered)
    parts = unicodedata.normalize("NFD", lowered)
    bare = "".join(char for char in parts if not "\u0300" <= char <= "\u036f" and char not in "ˈˌːʰ")
    return unicodedata.normalize("NFC", bare)


def _sounds(written: str) -> str:
    """A sound or word between slashes, as its phonetic letters."""
    if written.isascii():
        return written.lower()
    return "".join(char for char in unicodedata.normalize("NFC", written).lower() if char not in "ˈˌ")


def _fraction(written: str) -> str:
    over, under = (int(part) for part in written.split("/"))
    if 0 < over < under <= 10:
        return numbers.fraction(over, under)
    return f"{numbers.number(str(over))} {numbers.number(str(under))}"


_SAID: dict[str, Callable[[str], str]] = {
    "sounds": _sounds,
    "ordinal": numbers.ordinal,
    "decade": numbers.decade,
    "hour": clocks.hour,
    "clock": clocks.clock,
    "meridiem": lambda written: f"{written[0].lower()} m",
    "metres": lambda written: f"{numbers.number(written.rstrip('mM '))} metres",
    "halves": measures.halves,
    "height": measures.height,
    "unit": lambda written: measures.UNITS[written.lower()],
    "sure_unit": lambda written: measures.UNITS[written],
    "seconds": lambda _: "seconds",
    "cased": lambda written: measures.CASED_UNITS[written],
    "money": lambda written: numbers.money(*numbers.sum_of(written)),
    "pence": lambda _: "p",
    "inches": lambda _: "inches",
    "compass": lambda written: short_forms.COMPASS[written],
    "by": lambda _: "by",
    "cents": lambda written: f"{numbers.number(written[:-1])} cent{'' if written == '1¢' else 's'}",
    "mixed": lambda written: numbers.mixed(written[:-1], written[-1]),
    "date": lambda written: dates.dates(written)[0],
    "day_month": lambda written: dates.day_and_month(written)[0],
    "heat": measures.heat,
    "each": lambda written: f"per {measures.each_of(written)[0]}",
    "letters": lambda _: "to",
    "power": lambda written: {"²": "squared", "³": "cubed"}[written],
    "percent": lambda _: "per cent",
    "slashed": lambda written: short_forms.SLASHED[written.lower()],
    "fraction": _fraction,
    "minus": lambda _: "minus",
    "over": lambda _: "divided by",
    "number": numbers.number,
    "rank": lambda written: short_forms.RANKS[written.rstrip(".")],
    "title": lambda written: short_forms.TITLES[written.lower().rstrip(".")],
    "saint": lambda _: "saint",
    "street": lambda _: "street",
    "month": lambda written: dates.SHORT_MONTHS[written.lower().rstrip(".")],
    "day": lambda written: dates.SHORT_DAYS[written.lower().rstrip(".")],
    "numbered": lambda _: "number",
    "short": lambda written: short_forms.SHORT[written.lower().rstrip(".")],
    "dotted": lambda written: " ".join(_plain(letter) for letter in written.replace(".", "")),
    "dot": lambda _: "dot",
    "clipped": lambda written: "'" + written[1:].lower(),
    "word": _plain,
    "symbol": lambda written: short_forms.SYMBOLS[written.lower()],
}
