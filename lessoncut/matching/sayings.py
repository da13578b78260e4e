"""How this take says the script's numbers, times, sums and dates; the recogniser's digits in the same words.

``6:45`` may be read as "six forty-five" or "quarter to seven", and either may be heard as words or as digits. Where
words were heard they tell which; where digits were, only the sound can.
"""

from __future__ import annotations

import math
import re
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import accumulate

from lessoncut import wording
from lessoncut.hearing.records import Alignment, AlignmentRequest, HeardWord, Hearing
from lessoncut.matching.fit import fit
from lessoncut.matching.ground import said
from lessoncut.matching.lay import Ask
from lessoncut.matching.unsaid import without_unsaid
from lessoncut.script.records import Line, Script
from lessoncut.times import Span, SpanIndex
from lessoncut.wording import Place, Saying, Token

LEAST_ALIKE = 0.7
"""What was heard must be so like a line for it to tell how that line was said."""
LEAST_BETTER = 100.0
"""In log score over all frames: so much better must another way fit the sound than the ordinary one."""
AS_ALIKE = 0.08
"""Ways so near the one most alike cannot be told apart by what was heard."""
BESIDE = 3
"""So many tokens on either side are looked at with a number."""
WELL, LITTLE_LOWER = -25.0, 5.0
"""A number's words that lie so well on the sound, each of them, and so little worse than those beside them, are those
that were said."""
MOST_LEFT_MS = 250
"""So much speech behind the last of them is none of theirs, and another way may account for it."""
FURTHER_MS = 3000
AROUND_MS = 200
"""Sound given to the aligner beyond the recogniser's times."""

_INCHES = re.compile(r"in\.\W*")
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

    def like(self, tokens: Sequence[Token], token: Token, way: _Row, within: Place | None = None) -> Place:
        """Where tokens in a row are most alike, said so at the one."""
        first, last = (within.start, within.end) if within else (0, len(self.text))
        rows = dict.fromkeys(_with(tokens, token, way, digits=digits) for digits in (False, True))
        best = max((wording.place_in(row, self.text[first:last]) for row in rows), key=lambda place: place.likeness)
        return replace(best, start=first + best.start, end=first + best.end)

    def span(self, first: int, last: int) -> Span:
        """Of the words under the characters ``[first, last)``."""
        here, there = (min(bisect_right(self._ends, at), len(self.words)) - 1 for at in (first, max(first, last - 1)))
        return Span(self.words[here].span.start_ms, max(self.words[there].span.end_ms, self.words[here].span.end_ms))

    def window(self, span: Span, *, ends: bool) -> Span:
        """The sound around the span; where that ``ends`` the line, to where its speech ends, if that is near. Digits
        are shorter than what is said, so that a line in words reaches over fewer heard ones."""
        end_ms = span.end_ms
        if ends:
            end_ms = max([end_ms, *(speech.end_ms for speech in self.speech.meeting(span))])
        end_ms = min(end_ms, span.end_ms + FURTHER_MS) + AROUND_MS
        return Span(max(0, span.start_ms - AROUND_MS), min(self.duration_ms, end_ms))


def in_same_words(script: Script, hearing: Hearing, ask: Ask) -> tuple[Script, Hearing]:
    """The script as the take says it, and the hearing with its digits spelt as the script says them."""
    hearing = replace(hearing, words=_with_inches(hearing.words))
    script = without_unsaid(script, said(hearing.words))
    numbers = tuple(dict.fromkeys(token for line in script.lines for token in line.tokens if token.ways))
    texts = tuple(_as_digits(word, numbers) for word in hearing.words)
    heard = _Heard(hearing.words, texts, SpanIndex(hearing.speech), hearing.duration_ms)
    lines = tuple(_as_said(line, heard, ask) for line in script.lines)
    script = replace(script, lines=lines)
    rows = [f" {' '.join(line.spoken)} " for line in lines]
    same = [token for line in lines for token in line.tokens if token.ways]
    words = tuple(replace(word, text=_respelt(word.text, same, rows)) for word in hearing.words)
    return script, replace(hearing, words=words)


def _with_inches(words: Sequence[HeardWord]) -> tuple[HeardWord, ...]:
    """The words with "27 in." as it is said: recognisers write it so, and in any other place "in" is a word."""
    return tuple(
        replace(word, text="inches") if _INCHES.fullmatch(word.text) and before.text[-1:].isnumeric() else word
        for before, word in zip([HeardWord("", Span(0, 0), 0.0), *words], words, strict=False)
    )


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
    places = {way: heard.like(line.tokens, token, way) for way in ways}
    digits = heard.like(line.tokens, token, (token.text.casefold(),))
    best = max([*places.values(), digits], key=lambda place: place.likeness)
    if best.likeness < LEAST_ALIKE:
        return token.spoken
    likely = [way for way in ways if max(places[way].likeness, digits.likeness) > best.likeness - AS_ALIKE]
    likely.sort(key=lambda way: -places[way].likeness)
    if len(likely) == 1:
        return likely[0]
    first = likely[0] if best is not digits else token.spoken
    return _fitting(line, token, [first, *(way for way in likely if way != first)], best, heard, ask)


def _fitting(line: Line, token: Token, ways: Sequence[_Row], place: Place, heard: _Heard, ask: Ask) -> _Row:
    """The first of the ways, unless the sound fits another one clearly better. The line was heard at the place.

    The words around the token are asked about; the whole line only where these are not found.
    """
    tokens = line.tokens
    at = next(at for at, other in enumerate(tokens) if other.start == token.start)
    first, *others = ways
    for part in (_beside(tokens, at), tokens):
        rows = (*ways, (token.text.casefold(),))
        found = max((heard.like(part, token, row, place) for row in rows), key=lambda one: one.likeness)
        window = heard.window(heard.span(found.start, found.end), ends=part[-1] == tokens[-1])
        asked = [AlignmentRequest(line.id, _with(part, token, way), window) for way in ways]
        as_first = ask(asked[:1])[0]
        if _is_borne_out(part, token, first, as_first) and not _left_at_end(heard, window, as_first):
            return first
        scores = {way: _fit(heard, window, laid) for way, laid in zip(others, ask(asked[1:]), strict=True)}
        fitting = max(others, key=scores.__getitem__)
        if as_first.words or math.isfinite(scores[fitting]):
            return fitting if scores[fitting] > _fit(heard, window, as_first) + LEAST_BETTER else first
    return first


def _beside(tokens: Sequence[Token], at: int) -> Sequence[Token]:
    """The tokens around the one, up to the next of which it is not known yet how it is said, if there are enough."""
    after = tokens[at + 1 : at + BESIDE + 1]
    known = next((count for count, token in enumerate(after) if token.ways), len(after))
    before = tokens[max(0, at - BESIDE) : at + 1]
    return (*before, *(after[:known] if len(before) + known > BESIDE else after))


def _is_borne_out(tokens: Sequence[Token], token: Token, way: _Row, alignment: Alignment) -> bool:
    """Whether the words for the token lie as well on the sound as those beside it: then no other way was said."""
    if not alignment.words:
        return False
    before = sum(len(other.spoken) for other in tokens if other.start < token.start)
    own = alignment.words[before : before + len(way)]
    beside = alignment.words[:before] + alignment.words[before + len(way) :]
    least = replace(alignment, words=beside).mean_score - LITTLE_LOWER if beside else WELL
    score = replace(alignment, words=own).mean_score
    return score >= least and min(word.score for word in own) >= WELL


def _left_at_end(heard: _Heard, window: Span, alignment: Alignment) -> bool:
    """Whether speech goes on behind the words, as "millimetres" does behind "mil"."""
    end_ms = min(alignment.words[-1].span.end_ms, window.end_ms)
    return heard.speech.overlap_ms(Span(end_ms, window.end_ms)) > MOST_LEFT_MS


def _fit(heard: _Heard, window: Span, alignment: Alignment) -> float:
    """How well the words account for the speech in the window; minus infinity without a path."""
    scored = [(word.span, word.score) for word in alignment.words]
    return fit(window, scored, heard.speech.overlap_ms) if scored else float("-inf")


def _with(tokens: Sequence[Token], token: Token, way: _Row, *, digits: bool = False) -> _Row:
    """The tokens' words, with these for the one; other numbers may stand in digits."""

    def words(other: Token) -> _Row:
        if other.start == token.start:
            return way
        return (other.text.casefold(),) if digits and other.ways else other.spoken

    return tuple(word for each in tokens for word in words(each))


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
