"""A first script from what was heard, for a teacher who has none."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from difflib import SequenceMatcher
from itertools import pairwise
from typing import Protocol

from lessoncut.errors import ScriptError
from lessoncut.script.assemble import one_line
from lessoncut.script.records import Line, Script, Section
from lessoncut.script.sentences import sentences
from lessoncut.script.write import to_markdown
from lessoncut.times import Span, without
from lessoncut.wording import spoken

SECTION_PAUSE_MS = 2500
"""A longer pause outside the passage begins a new section."""
LINE_PAUSE_MS = 1500
"""A longer pause ends a line even where the recogniser wrote no stop."""
VOICED_ENOUGH = 0.35
"""A heard word with less speech than this behind it is not believed."""
GRAM_WORDS = 3
MOST_PLACES = 16
"""A row of words that comes oftener says nothing about the passage."""
REACH_WORDS = 40
"""Words that may be missed, added or said again between two rows that are the same in both readings."""
LEAST_WORDS = 15
LEAST_LINES = 2
ALIKE = 0.8

_NOTE = """\
This first script was written from the recording itself. Before you use it:
- correct the words, and give the title and the sections their names;
- {passage}
- mark **stressed words** and ==key phrases== if you want them on the handout."""
_FOUND = "check that the section marked {.passage} begins and ends where the part read twice does;"
_NOT_FOUND = "no part was heard twice: put {.passage} after the heading of the part that learners repeat;"


class Heard(Protocol):
    """A word as the recogniser spelt it (see the hearing's records)."""

    @property
    def text(self) -> str: ...
    @property
    def span(self) -> Span: ...
    @property
    def voiced(self) -> float: ...


@dataclass(frozen=True)
class Said:
    """One sentence as heard. ``first`` is the place of its first word among all spoken words of the take."""

    text: str
    words: tuple[str, ...]
    first: int
    pause_before_ms: int

    def mostly_in(self, places: range) -> bool:
        """Whether more than half of its words stand at these places."""
        inside = min(places.stop, self.first + len(self.words)) - max(places.start, self.first)
        return inside > len(self.words) / 2


def draft(words: Sequence[Heard], speech: Sequence[Span], title: str) -> str:
    """The script as Markdown, ready to edit: words in time order, ``speech`` the spans where somebody speaks.

    The passage is the longest part that was spoken twice; its second speaking is left out, and so are broken-off and
    repeated sentences. Raises ScriptError when no word was heard.
    """
    said = _numbered(_without_retakes(said_sentences(words, speech)))
    if not said:
        raise ScriptError(
            "no speech was understood in the take, so there is nothing to write a script from",
            hint="check that the take's sound is right, or write the script by hand",
        )
    twice = spoken_twice(tuple(word for sentence in said for word in sentence.words))
    chapters = list(_chapters(said, *(_regions(said, twice) if twice else ((), ()))))
    found = any(section.passage for section, _ in chapters)
    script = Script(
        one_line(title) or "Lesson",
        tuple(section for section, _ in chapters),
        tuple(
            Line("", sentence.text, index, section.passage)
            for index, (section, members) in enumerate(chapters)
            for sentence in members
        ),
    )
    return to_markdown(script, _NOTE.format(passage=_FOUND if found else _NOT_FOUND))


def said_sentences(words: Sequence[Heard], speech: Sequence[Span]) -> list[Said]:
    """The believed words as sentences, by the recogniser's stops and by long pauses."""
    heard = [word for word in words if word.voiced >= VOICED_ENOUGH and spoken(word.text)]
    if not heard:
        return []
    pauses = [0, *(_pause_ms(a.span, b.span, speech) for a, b in pairwise(heard))]
    text, starts = "", []
    for word, pause_ms in zip(heard, pauses, strict=True):
        text += "\n" if pause_ms >= LINE_PAUSE_MS else " "
        starts.append(len(text))
        text += one_line(word.text)
    said: list[Said] = []
    for start, end in sentences(text):
        place = bisect_right(starts, start) - 1
        pause_ms = pauses[place] if starts[place] == start else 0
        if spoken(text[start:end]):
            said.append(Said(text[start:end], spoken(text[start:end]), 0, pause_ms))
    return _numbered(said)


def spoken_twice(words: Sequence[str]) -> tuple[range, range] | None:
    """The longest part that comes twice, as the places of its words both times; None when there is none.

    Rows of ``GRAM_WORDS`` equal words are chained while both places move on by at most ``REACH_WORDS``. The first
    speaking ends before the second begins.
    """
    best: _Chain | None = None
    at_place: list[list[_Chain]] = [[] for _ in words]
    for i, j in _equal_grams(words):
        chain = _Chain(i, j, i, j, float(GRAM_WORDS))
        for earlier in range(max(0, i - REACH_WORDS), i):
            for before in at_place[earlier]:
                if 0 < j - before.j <= REACH_WORDS and i + GRAM_WORDS <= before.second:
                    chain = max(chain, before.followed_by(i, j), key=lambda each: each.score)
        at_place[i].append(chain)
        if best is None or chain.score > best.score:
            best = chain
    if best is None or best.score < LEAST_WORDS:
        return None
    return range(best.first, best.i + GRAM_WORDS), range(best.second, best.j + GRAM_WORDS)


@dataclass(frozen=True)
class _Chain:
    """A chain of equal rows of words that ends at places ``i`` and ``j`` and began at ``first`` and ``second``."""

    i: int
    j: int
    first: int
    second: int
    score: float
    """Words that the two speakings share, less a little for every word by which they drift apart."""

    def followed_by(self, i: int, j: int) -> _Chain:
        step_i, step_j = i - self.i, j - self.j
        gain = min(GRAM_WORDS, step_i, step_j) - 0.05 * abs(step_i - step_j)
        return _Chain(i, j, self.first, self.second, self.score + gain)


def _equal_grams(words: Sequence[str]) -> Iterator[tuple[int, int]]:
    """Places i < j where the same row of words begins, in order of i."""
    places: dict[tuple[str, ...], list[int]] = {}
    for place in range(len(words) - GRAM_WORDS + 1):
        places.setdefault(tuple(words[place : place + GRAM_WORDS]), []).append(place)
    for place in range(len(words) - GRAM_WORDS + 1):
        same = places[tuple(words[place : place + GRAM_WORDS])]
        if len(same) <= MOST_PLACES:
            yield from ((place, other) for other in same[bisect_right(same, place) :] if other >= place + GRAM_WORDS)


def _pause_ms(before: Span, after: Span, speech: Sequence[Span]) -> int:
    """The longest silence between the middles of two words: their edges are not to be trusted."""
    between = Span(before.middle_ms, max(before.middle_ms, after.middle_ms))
    first = max(0, bisect_left(speech, between.start_ms, key=lambda span: span.start_ms) - 1)
    last = bisect_right(speech, between.end_ms, key=lambda span: span.start_ms)
    return max((piece.length_ms for piece in without(between, speech[first:last])), default=0)


def _without_retakes(said: Sequence[Said]) -> list[Said]:
    """Of a sentence said again at once only the last; a sentence broken off and begun again only the second time."""
    kept: list[Said] = []
    for sentence in said:
        while kept and (_alike(kept[-1], sentence) or _breaks_off(kept[-1], sentence)):
            sentence = replace(sentence, pause_before_ms=kept.pop().pause_before_ms)  # noqa: PLW2901
        kept.append(sentence)
    return kept


def _alike(a: Said, b: Said) -> bool:
    return SequenceMatcher(None, a.words, b.words, autojunk=False).ratio() >= ALIKE


def _breaks_off(a: Said, b: Said) -> bool:
    return 2 <= len(a.words) < len(b.words) and b.words[: len(a.words)] == a.words


def _numbered(said: Sequence[Said]) -> list[Said]:
    numbered, place = [], 0
    for sentence in said:
        numbered.append(replace(sentence, first=place))
        place += len(sentence.words)
    return numbered


def _regions(said: Sequence[Said], twice: tuple[range, range]) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """The sentences of the passage, and those that only say it again; both empty when the passage is too short."""
    first, second = twice
    passage = tuple(n for n, sentence in enumerate(said) if sentence.mostly_in(first))
    if len(passage) < LEAST_LINES:
        return (), ()
    again = tuple(
        n
        for n, sentence in enumerate(said)
        if n > passage[-1]
        and (
            sentence.mostly_in(second)
            or (len(sentence.words) > GRAM_WORDS and any(_alike(sentence, said[line]) for line in passage))
        )
    )
    return passage, again


def _chapters(
    said: Sequence[Said], passage: Sequence[int], again: Sequence[int]
) -> Iterator[tuple[Section, list[Said]]]:
    """The sections with their sentences."""
    parts = 0
    members: list[Said] = []
    for n, sentence in enumerate(said):
        if passage and n == passage[0]:
            if members:
                parts += 1
                yield Section(f"Part {parts}"), members
            yield Section("Passage", passage=True), [said[line] for line in range(passage[0], passage[-1] + 1)]
            members = []
        if (passage and passage[0] <= n <= passage[-1]) or n in again:
            continue
        if members and sentence.pause_before_ms > SECTION_PAUSE_MS:
            parts += 1
            yield Section(f"Part {parts}"), members
            members = []
        members.append(sentence)
    if members:
        yield Section(f"Part {parts + 1}"), members
