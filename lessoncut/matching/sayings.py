"""How this take says the script's numbers, times, sums and dates; the recogniser's digits in the same words.

``6:45`` may be read as "six forty-five" or "quarter to seven", and either may be heard as words or as digits. Where
words were heard they tell which; where digits were, only the sound can.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import accumulate

from lessoncut import wording
from lessoncut.hearing.records import Alignment, AlignmentRequest, HeardWord, Hearing
from lessoncut.matching.fit import fit
from lessoncut.matching.lay import Ask
from lessoncut.script.records import Line, Script
from lessoncut.times import Span, SpanIndex
from lessoncut.wording import Place, Saying, Token

LEAST_ALIKE = 0.7
"""What was heard must be so like a line for it to tell how that line was said."""
LEAST_BETTER = 100.0
"""In log score over all frames: so much better must another way fit the sound than the ordinary one."""
AS_ALIKE = 0.08
"""Ways so near the one most alike cannot be told apart by what was heard."""
FURTHER_MS = 3000
AROUND_MS = 200
"""Sound given to the aligner beyond the recogniser's times."""

_Row = tuple[str, ...]


@dataclass(frozen=True)
class _Heard:
    """The take's words as one text, and how numbers the script has, too, stand in it: as digits."""

    words: tuple[HeardWord, ...]
    texts: tuple[str, ...]
    """Of each heard word."""
    speech: SpanIndex
    duration_ms: int

    @cached_property
    def text(self) -> str:
        return " ".join(self.texts)

    @cached_property
    def _ends(self) -> list[int]:
        return list(accumulate((len(text) + 1 for text in self.texts), initial=0))

    def like(self, line: Line, token: Token, way: _Row) -> Place:
        """Where the line is most alike, said so at the token."""
        rows = dict.fromkeys(_with(line, token, way, digits=digits) for digits in (False, True))
        return max((wording.place_in(row, self.text) for row in rows), key=lambda place: place.likeness)

    def span(self, first: int, last: int) -> Span:
        """Of the words under the characters ``[first, last)``."""
        here, there = (min(bisect_right(self._ends, at), len(self.words)) - 1 for at in (first, max(first, last - 1)))
        return Span(self.words[here].span.start_ms, max(self.words[there].span.end_ms, self.words[here].span.end_ms))

    def window(self, span: Span) -> Span:
        """The sound around the span: to where its speech ends, if that is near. Digits are shorter than what is said,
        so that a line in words reaches over fewer heard ones."""
        end_ms = max([span.end_ms, *(speech.end_ms for speech in self.speech.meeting(span))])
        end_ms = min(end_ms, span.end_ms + FURTHER_MS) + AROUND_MS
        return Span(max(0, span.start_ms - AROUND_MS), min(self.duration_ms, end_ms))


def in_same_words(script: Script, hearing: Hearing, ask: Ask) -> tuple[Script, Hearing]:
    """The script with its sayings, and the hearing with its digits spelt as the script says them."""
    numbers = tuple(dict.fromkeys(token for line in script.lines for token in line.tokens if token.ways))
    texts = tuple(_as_digits(word, numbers) for word in hearing.words)
    heard = _Heard(hearing.words, texts, SpanIndex(hearing.speech), hearing.duration_ms)
    lines = tuple(_as_said(line, heard, ask) for line in script.lines)
    script = replace(script, lines=lines)
    rows = [f" {' '.join(line.spoken)} " for line in lines]
    same = [token for line in lines for token in line.tokens if token.ways]
    words = tuple(replace(word, text=_respelt(word.text, same, rows)) for word in hearing.words)
    return script, replace(hearing, words=words)


def _joined(text: str) -> str:
    """``2-0-4``, as recognisers write what they heard digit by digit, as one number."""
    return re.sub(r"(?<=\b\d)-(?=\d\b)", "", text)


def _all_ways(token: Token) -> tuple[_Row, ...]:
    return (token.spoken, *token.ways)


def _is_same(heard: Token, other: Token) -> bool:
    """Whether both may be said alike, and the heard one does not tell how: it is all digits."""
    return (
        bool(heard.ways and other.ways)
        and not any(map(str.isalpha, heard.text))
        and not set(_all_ways(heard)).isdisjoint(_all_ways(other))
    )


def _as_digits(word: HeardWord, numbers: Sequence[Token]) -> str:
    """The heard word as it is said; but as the script's own digits where it may be those."""
    joined = [(token, _same(token, numbers)) for token in wording.tokens(_joined(word.text))]
    if any(same for _, same in joined):
        return " ".join(same.text.casefold() if same else " ".join(token.spoken) for token, same in joined)
    return " ".join(wording.spoken(word.text))


def _same(heard: Token, numbers: Sequence[Token]) -> Token | None:
    return next((number for number in numbers if _is_same(heard, number)), None)


def _as_said(line: Line, heard: _Heard, ask: Ask) -> Line:
    for token in line.tokens:
        if token.ways and heard.words:
            saying = Saying(token.start, _way(line, token, heard, ask))
            if saying.spoken != token.spoken:
                line = replace(line, sayings=(*line.sayings, saying))
    return line


def _way(line: Line, token: Token, heard: _Heard, ask: Ask) -> _Row:
    """How the token is said in this line."""
    ways = _all_ways(token)
    places = {way: heard.like(line, token, way) for way in ways}
    digits = heard.like(line, token, (token.text.casefold(),))
    best = max([*places.values(), digits], key=lambda place: place.likeness)
    if best.likeness < LEAST_ALIKE:
        return token.spoken
    likely = [way for way in ways if max(places[way].likeness, digits.likeness) > best.likeness - AS_ALIKE]
    likely.sort(key=lambda way: -places[way].likeness)
    if len(likely) == 1:
        return likely[0]
    window = heard.window(heard.span(best.start, best.end))
    laid = ask([AlignmentRequest(line.id, _with(line, token, way), window) for way in likely])
    scores = {way: _fit(heard, window, alignment) for way, alignment in zip(likely, laid, strict=True)}
    fitting = max(likely, key=scores.__getitem__)
    first = likely[0] if best is not digits else token.spoken
    return fitting if scores[fitting] > scores[first] + LEAST_BETTER else first


def _fit(heard: _Heard, window: Span, alignment: Alignment) -> float:
    """How well the words account for the speech in the window; minus infinity without a path."""
    scored = [(word.span, word.score) for word in alignment.words]
    return fit(window, scored, heard.speech.overlap_ms) if scored else float("-inf")


def _with(line: Line, token: Token, way: _Row, *, digits: bool = False) -> _Row:
    """The line's words, with these for the token; its other numbers may stand in digits."""

    def words(other: Token) -> _Row:
        if other.start == token.start:
            return way
        return (other.text.casefold(),) if digits and other.ways else other.spoken

    return tuple(word for each in line.tokens for word in words(each))


def _respelt(text: str, numbers: Sequence[Token], rows: Sequence[str]) -> str:
    """A heard word's text with its numbers in words that the script says, where it says one of theirs."""
    for tokens in dict.fromkeys((wording.tokens(_joined(text)), wording.tokens(text))):
        found = [_found(token, numbers, rows) for token in tokens]
        if any(token.ways for token in tokens) and all(found):
            return " ".join(way for way in found if way)
    return text


def _found(token: Token, numbers: Sequence[Token], rows: Sequence[str]) -> str | None:
    """The words for the token that a line has, too; of a token that can be said one way only, those."""
    if not token.ways:
        return " ".join(token.spoken)
    same = [number.spoken for number in numbers if _is_same(token, number)]
    likely = (" ".join(way) for way in dict.fromkeys([*same, *_all_ways(token)]))
    return next((way for way in likely if any(f" {way} " in row for row in rows)), None)
