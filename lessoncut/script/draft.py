"""A first script from what was heard, for a teacher who has none."""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Iterator, Sequence, Set
from dataclasses import dataclass, replace
from difflib import SequenceMatcher
from itertools import pairwise
from statistics import fmean
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
LINE_PAUSE_MS = 800
"""A longer pause ends a line even where the recogniser wrote no stop."""
VOICED_ENOUGH = 0.35
"""A heard word with less speech than this behind it is not believed."""
GRAM_WORDS = 3
MOST_PLACES = 16
"""A row of words that comes oftener says nothing about the passage."""
REACH_WORDS = 40
"""Words that may be missed, added or said again between two rows that are the same in both readings."""
CAPITAL_PAUSE_MS = 300
"""For a word that the recogniser began with a capital. A letter that stands alone begins nothing."""
_I = frozenset({"i", "i'm", "i'll", "i've", "i'd"})
RESTART_PAUSE_MS = 400
"""A pause before a word or two that are said again: she broke off. "Very, very" has none."""
LONGEST_RESTART = 25
MOST_BROKEN = 2
"""Words after a row of ``SURE_ROW`` that come out differently when it is said again."""
SURE_ROW = 4
SLIPS = frozenset({"again", "mistake", "moment", "no", "oh", "oops", "repeat", "sorry", "wait", "wrong"})
MOST_SLIP_WORDS = 8
MOST_PIECES = 3
"""A sentence that a pause has torn into more pieces than this is not known again when it comes whole."""
LEAST_WORDS = 15
LEAST_LINES = 2
ALIKE = 0.8
MOSTLY = 0.7
"""Of a sentence's words in rows that the passage has: then it only says the passage again."""

_CAPITAL = re.compile(r"\W*[A-Z]['’]?[a-z]")
_WORD_SIGN = re.compile(r"\w")

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
    @property
    def probability(self) -> float: ...


@dataclass(frozen=True)
class Said:
    """One sentence as heard. ``first`` is the place of its first word among all spoken words of the take."""

    text: str
    words: tuple[str, ...]
    first: int
    pause_before_ms: int
    probability: float
    """Mean of the recogniser's own over its words."""

    def mostly_in(self, places: range) -> bool:
        """Whether more than half of its words stand at these places."""
        inside = min(places.stop, self.first + len(self.words)) - max(places.start, self.first)
        return inside > len(self.words) / 2


def draft(words: Sequence[Heard], speech: Sequence[Span], title: str) -> str:
    """The script as Markdown, ready to edit: words in time order, ``speech`` the spans where somebody speaks.

    The passage is the longest part that was spoken twice; each of its lines is there once, as it was heard more surely.
    Broken-off and repeated sentences are left out. Raises ScriptError when no word was heard.
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
            Line("", _as_sentence(sentence.text), index, section.passage)
            for index, (section, members) in enumerate(chapters)
            for sentence in members
        ),
    )
    return to_markdown(script, _NOTE.format(passage=_FOUND if found else _NOT_FOUND))


def _as_sentence(text: str) -> str:
    """With a capital and a stop, where the recogniser wrote none."""
    whole = text[:1].upper() + text[1:].rstrip(",;:")
    return whole if _WORD_SIGN.search(whole[-1:]) is None else f"{whole}."


def said_sentences(words: Sequence[Heard], speech: Sequence[Span]) -> list[Said]:
    """The believed words as sentences, by the recogniser's stops and by pauses.

    A long pause ends a line wherever its words come, also where the other reading hurries over it; a short one does
    where the recogniser wrote a capital after it.
    """
    spelt = _without_restarts([w for w in words if w.voiced >= VOICED_ENOUGH and spoken(w.text)], speech)
    if not spelt:
        return []
    heard = [word for _, word in spelt]
    pauses = [0, *(_pause_ms(a.span, b.span, speech) for a, b in pairwise(heard))]
    borders = [_border([spoken(word.text) for word in heard], at) for at in range(len(heard))]
    ends = {border for border, pause_ms in zip(borders, pauses, strict=True) if pause_ms >= LINE_PAUSE_MS}
    text, starts = "", []
    for (written, _), pause_ms, border in zip(spelt, pauses, borders, strict=True):
        begins = _CAPITAL.match(written) and spoken(written)[0] not in _I and pause_ms >= CAPITAL_PAUSE_MS
        text += "\n" if begins or pause_ms >= LINE_PAUSE_MS or (border and border in ends) else " "
        starts.append(len(text))
        text += one_line(written)
    said: list[Said] = []
    for start, end in sentences(text):
        place = bisect_right(starts, start) - 1
        pause_ms = pauses[place] if starts[place] == start else 0
        if spoken(text[start:end]):
            probability = fmean(word.probability for word in heard[place : bisect_left(starts, end)])
            said.append(Said(text[start:end], spoken(text[start:end]), 0, pause_ms, probability))
    return _numbered(said)


def _without_restarts(heard: Sequence[Heard], speech: Sequence[Span]) -> list[tuple[str, Heard]]:
    """Of a row of words that is said again at once only the last time: "every Wednesday she, every Wednesday she".

    Each word comes with its spelling: where the row first stood decides about the capital.
    """
    words = [spoken(word.text) for word in heard]
    borders = Counter(_border(words, at) for at in range(len(words)))
    kept: list[int] = []
    spelt: list[str] = []
    for at, word in enumerate(heard):
        text = word.text
        border = _border(words, at)
        if border is None or borders[border] < 2:  # What comes elsewhere too is meant to be said like this.
            pause_ms = _pause_ms(heard[at - 1].span, word.span, speech) if at else 0
            before = [words[place] for place in kept[-LONGEST_RESTART - MOST_BROKEN :]]
            gone = _restarted(before, words[at : at + LONGEST_RESTART], pause_ms)
            if gone and not any(_ends_sentence(each) for each in spelt[-gone:-1]):
                text = spelt[-gone]
                del kept[-gone:], spelt[-gone:]
        kept.append(at)
        spelt.append(text)
    return list(zip(spelt, (heard[place] for place in kept), strict=True))


def _border(words: Sequence[tuple[str, ...]], at: int) -> tuple[tuple[str, ...], ...] | None:
    """The two words on either side of the place before word ``at``; None at the ends of the take."""
    return tuple(words[at - 2 : at + 2]) if 2 <= at <= len(words) - 2 else None


def _ends_sentence(text: str) -> bool:
    return len(spoken(text)) > 0 and text.rstrip("\"'”’)")[-1:] in ".?!"


def _restarted(before: Sequence[tuple[str, ...]], after: Sequence[tuple[str, ...]], pause_ms: int) -> int:
    """How many of the words before are said again, with the few that broke off behind them."""
    broke_off = pause_ms >= RESTART_PAUSE_MS
    for row in range(min(LONGEST_RESTART, len(before), len(after)), 0, -1):
        for broken in range(MOST_BROKEN + 1 if row >= SURE_ROW and broke_off else 1):
            end = len(before) - broken
            if end >= row and before[end - row : end] == after[:row] and (broke_off or row >= GRAM_WORDS):
                return row + broken
    return 0


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
    """Of a sentence said again at once only the last; a sentence broken off and begun again only the second time.

    What she says about the slip goes too. Two sentences that follow each other elsewhere as well are no slip.
    """
    pairs = Counter((a.words, b.words) for a, b in pairwise(said))
    kept: list[Said] = []
    for sentence in said:
        while (pieces := _taken_back(kept, sentence)) and not _meant(kept[-1], sentence, pairs):
            sentence = replace(sentence, pause_before_ms=kept[-pieces].pause_before_ms)  # noqa: PLW2901
            del kept[-pieces:]
        kept.append(sentence)
    return kept


def _meant(a: Said, b: Said, pairs: Counter[tuple[tuple[str, ...], tuple[str, ...]]]) -> bool:
    return a.words != b.words and pairs[a.words, b.words] > 1


def _taken_back(before: Sequence[Said], sentence: Said) -> int:
    """How many of the last sentences this one says again."""
    slip = bool(before) and len(before[-1].words) <= MOST_SLIP_WORDS and not SLIPS.isdisjoint(before[-1].words)
    for about_it in (0, 1) if slip else (0,):
        for pieces in range(1, min(MOST_PIECES, len(before) - about_it) + 1):
            last = len(before) - about_it
            words = tuple(word for piece in before[last - pieces : last] for word in piece.words)
            if _alike(words, sentence.words) or (pieces == 1 and _breaks_off(words, sentence.words)):
                return pieces + about_it
    return 0


def _alike(a: Sequence[str], b: Sequence[str]) -> bool:
    return _ratio(a, b) >= ALIKE


def _ratio(a: Sequence[str], b: Sequence[str]) -> float:
    return SequenceMatcher(None, a, b, autojunk=False).ratio()


def _breaks_off(a: Sequence[str], b: Sequence[str]) -> bool:
    return 2 <= len(a) < len(b) and b[: len(a)] == a


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
    rows = set(_rows([word for line in passage for word in said[line].words]))
    alike = {n for n, sentence in enumerate(said) if _share_in(rows, sentence.words) >= MOSTLY}
    again = {n for n in alike if n > passage[-1]}
    again |= {n for n, sentence in enumerate(said) if n > passage[-1] and sentence.mostly_in(second)}
    return passage, tuple(sorted(again | _given_up(alike, passage[0])))


def _rows(words: Sequence[str]) -> list[tuple[str, ...]]:
    return [tuple(words[at : at + GRAM_WORDS]) for at in range(len(words) - GRAM_WORDS + 1)]


def _share_in(rows: Set[tuple[str, ...]], words: Sequence[str]) -> float:
    """Share of the words that stand in a row which is one of these."""
    known = {at + step for at, row in enumerate(_rows(words)) if row in rows for step in range(GRAM_WORDS)}
    return len(known) / len(words)


def _given_up(alike: Set[int], passage: int) -> set[int]:
    """A speaking of the passage before it that is not the longest: all from its first known sentence to its last."""
    before = sorted(n for n in alike if n < passage)
    while before:
        whole = range(before[0], before[-1] + 1)
        if len(before) > len(whole) / 2:
            return set(whole) if len(before) >= LEAST_LINES else set()
        before.pop(0)
    return set()


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
            lines, repeated = said[passage[0] : passage[-1] + 1], [said[place] for place in again]
            yield Section("Passage", passage=True), _surer(lines, repeated)
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


def _surer(lines: Sequence[Said], again: Sequence[Said]) -> list[Said]:
    """Each line as the recogniser was surest of it, of all the times it was read."""
    best = list(lines)
    for other in again:
        ratios = [_ratio(line.words, other.words) for line in lines]
        at = max(range(len(lines)), key=ratios.__getitem__)
        whole = len(other.words) >= len(lines[at].words)
        if ratios[at] >= ALIKE and whole and other.probability > best[at].probability:
            best[at] = other
    return best
