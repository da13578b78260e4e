"""Where sentences begin and end.

Small and for English, with the sentence marks of other scripts. A full stop ends a sentence when a capital, a digit
or a letter without case follows, unless it belongs to an abbreviation, an initial or a list number; after those only a
word that usually begins a sentence tells an end. Nothing is split inside round brackets; a quotation of several
sentences is several lines. In doubt it does not split.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

LONGEST_WORDS = 100
"""A longer sentence is split, after a clause if it has any: nobody repeats it in one breath."""
BRACKET_REACH = 240
"""Characters within which a round bracket must close to hold its sentences together."""
_LOOKED_BACK = 120
"""Characters before a full stop that are looked at."""
_ADVERBIAL_WORDS = 6
"""Words of an opening like "On Monday at 5 a.m." at most."""

_CLOSERS = "\"'”’»)\\]}*_"
_OPENERS = "\"'“‘«([{¿¡"
_CANDIDATE = re.compile(
    rf"""
      (?P<open>\() | (?P<shut>\))
    | (?P<bullet>\s+(?=[•⁃‣◦▪]))
    | (?P<wide>[。！？｡]+[」』”’）]*)
    | (?P<stop>\.(?:\s\.)+|[.!?…‽؟۔।]+)(?P<close>[{_CLOSERS}]*)(?=\s)
    """,
    re.VERBOSE,
)
_WORD_SIGN = re.compile(r"[^\W_]")
_NEXT = re.compile(rf"\s*[{re.escape(_OPENERS)}—–-]*\s?(?P<word>[^\W\d_]+(?:['’][^\W\d_]+)?)?(?P<dot>\.)?")
_DIRECTIONS = re.compile(r"(?:\s*(?:\([^().!?…]{1,60}\)|\[[^\[\].!?…]{1,60}\]))*")
"""What tells how the next sentence is to be said, or what to do before it: ``[smile]``."""
_LIST_MARK = re.compile(r"\W*(?:\d{1,3}|[^\W\d_])\W*")


def _words(written: str) -> frozenset[str]:
    return frozenset(written.split())


_TITLED = _words("mr mrs ms mx dr prof mt rev gen capt cpt lt sgt col hon messrs mme mlle sen gov rep pres fr")
"""A name follows."""
_GO_ON = _words("e.g i.e vs cf approx viz ca p.s p.p.s n.b")
_COUNTED = _words(
    "no nos p pp vol fig figs ch sec art ext tel rm apt n° nr jan feb mar apr jun jul aug sep sept oct nov dec"
)
"""Abbreviations where a number follows; elsewhere they may be words."""
_DAYS = _words("Mon Tue Tues Wed Weds Thu Thur Thurs Fri Sat Sun")
"""The same, where they have their capital: the cat sat."""
_MAY_END = _words("co inc ltd corp bros jr sr st ave rd blvd dept est")
"""Abbreviations that end a sentence where one of ``_BEGINNERS`` follows."""
_BEGINNERS = _words(
    """a all also an and another are as at because before but can could did do does each every for from had has have
    he her here his how however i i'm i'll i'd i've if in is it it's its let let's many may maybe most my no not now on
    once one our perhaps please say she should so some sometimes that that's the their then there these they this those
    today tomorrow was we we're well were what when where which while who why will with would yes yesterday you your"""
)
_LETTERED = _words(
    """answer bay block box building class door exit flat gate grade group hall level line option page part plan
    platform point question road room row seat section side size team terminal track type unit vitamin wing zone"""
)
"""Things that bear a letter for a name: after "Gate C." the next word begins a sentence."""
_ADVERBIAL = _words("at by from until before after around on every about since")
_MERIDIEM = _words("a.m p.m")
_SAYS = "said|says|asked|asks|replied|answered|added|called|cried|whispered|shouted|thought|wondered"
_ATTRIBUTION = re.compile(rf"\s*(?:[A-Z][\w'’-]*\.?\s){{1,2}}(?:{_SAYS})\b")


def sentences(text: str) -> tuple[tuple[int, int], ...]:
    """The sentences as character spans ``[start, end)`` in order, without the white space around them.

    A newline always ends one. Text without a letter or digit goes with the sentence before it on its line.
    """
    spans: list[tuple[int, int]] = []
    at = 0
    for line in text.split("\n"):
        for start, end in _of_line(line):
            stripped = line[start:end].strip()
            if stripped:
                begin = at + start + line[start:end].index(stripped[0])
                spans += _breaths(text, begin, begin + len(stripped))
        at += len(line) + 1
    return tuple(spans)


def is_left_open(text: str) -> bool:
    """Whether it ends in a short form behind which something must follow: "Dr.", "e.g."."""
    last = text.rstrip().rsplit(maxsplit=1)[-1:]
    return any(_is_open_short(word.lstrip(_OPENERS).removesuffix(".").lower()) for word in last)


def _is_open_short(word: str) -> bool:
    return word in _TITLED or word in _GO_ON


def _of_line(line: str) -> Iterator[tuple[int, int]]:
    last_word = max((match.start() for match in _WORD_SIGN.finditer(line)), default=-1)
    start = depth = 0
    for match in _CANDIDATE.finditer(line):
        depth = max(0, depth + _depth_change(match))
        if match.end() > last_word:
            break
        if match.lastgroup in ("open", "shut") or not _WORD_SIGN.search(line, start, match.start()):
            continue
        inside = depth > 0 and line.find(")", match.end(), match.end() + BRACKET_REACH) >= 0
        if not inside and (match.group("wide") or match.group("bullet") or _ends(line, start, match)):
            yield start, match.end()
            start, depth = match.end(), 0
    yield start, len(line)


def _depth_change(match: re.Match[str]) -> int:
    return bool(match.group("open")) - bool(match.group("shut")) - (match.group("close") or "").count(")")


def _ends(line: str, start: int, match: re.Match[str]) -> bool:
    """Whether a sentence that began at ``start`` ends with these stops."""
    stop, close = match.group("stop"), match.group("close")
    directions = _DIRECTIONS.match(line, match.end())
    following = _NEXT.match(line, directions.end() if directions else match.end())
    word = (following and following.group("word")) or ""
    if word[:1].islower():
        return False
    quoted = any(sign in close for sign in "\"'”’»")
    if quoted and _ATTRIBUTION.match(line, match.end()):
        return False
    dots = stop.count(".")
    if "…" in stop or dots > 1:
        bracketed = close.startswith("]") and line[match.start() - 1 : match.start()] == "["
        return not bracketed and (dots > 3 or word.lower().split("'")[0].split("’")[0] != "i")
    if stop != ".":
        return True
    initial_follows = len(word) == 1 and bool(following and following.group("dot"))
    begins = _begins(word) and not initial_follows
    before = line[max(start, match.start() - _LOOKED_BACK) : match.start()].lstrip()
    return _full_stop_ends(before, word, begins)


def _full_stop_ends(before: str, word: str, begins: bool) -> bool:
    """Whether the full stop after ``before`` ends it; ``word`` follows (empty: a digit or a sign)."""
    if _LIST_MARK.fullmatch(before):
        return False
    last = before.rsplit(maxsplit=1)[-1].lstrip(_OPENERS)
    lowered = last.lower()
    if _is_open_short(lowered):
        return False
    lettered = len(last) == 1 and _LETTERED.issuperset(before.lower().split()[-2:-1] or "?")
    counted = (lowered in _COUNTED and (len(last) > 1 or last.islower())) or last in _DAYS
    if lettered or counted or (len(last) == 1 and last.islower()) or _is_speaker(before):
        return bool(word)
    if lowered in _MERIDIEM:
        return begins or not _is_adverbial(before)
    initials = all(len(part) == 1 for part in last.split(".")) and last[:1].isalpha()
    if initials or lowered in _MAY_END or lowered == "ph.d":
        return begins
    return True


def _begins(word: str) -> bool:
    """Whether the word usually begins a sentence, by itself or with what is written on to it: "we've", "don't"."""
    plain = word.lower().replace("’", "'")
    return plain in _BEGINNERS or plain.split("'")[0] in _BEGINNERS or plain.endswith("n't")


def _is_speaker(before: str) -> bool:
    """Whether the last letter is the speaker, as in "So can I.": the word before an initial has a capital."""
    words = before.split()
    return words[-1] == "I" and len(words) > 1 and words[-2].islower()


def _is_adverbial(before: str) -> bool:
    """Whether the sentence so far is only "At 5 a.m." or the like."""
    words = before.split()
    return len(words) <= _ADVERBIAL_WORDS and len(before) < _LOOKED_BACK and words[0].lower() in _ADVERBIAL


def _breaths(text: str, start: int, end: int) -> Iterator[tuple[int, int]]:
    """The sentence in pieces of at most ``LONGEST_WORDS``, cut after a clause where there is one."""
    words = [match.span() for match in re.finditer(r"\S+", text[start:end])]
    first = 0
    while len(words) - first > LONGEST_WORDS:
        cut = first + LONGEST_WORDS
        for place in range(cut - 1, first + LONGEST_WORDS // 4, -1):
            if text[start + words[place][1] - 1] in ",;:—–":
                cut = place + 1
                break
        yield start + words[first][0], start + words[cut - 1][1]
        first = cut
    yield start + words[first][0], end
