"""Where a line falls into thought groups when nothing but its text is known.

Every mark of punctuation ends a group; a group that is still too long is cut before a conjunction, a relative or a
preposition, nearest the middle. Native readers average four to five words a group (Chafe 4.84, Crystal 5; from memory).
"""

from __future__ import annotations

from collections.abc import Sequence

from lessoncut.teaching.parts import CONTENT, Tag
from lessoncut.wording import Token

LONGEST_WORDS = 7
SHORTEST_WORDS = 2
_ENDS = frozenset(",;:.?!—–…")
_CUT_BEFORE: dict[Tag, float] = {"conjunction": 0.0, "relative": 0.5, "preposition": 1.0, "infinitive to": 1.5}
_SHORT_JOINS = frozenset({"than", "as", "of"})


def ends_of(text: str, words: Sequence[Token]) -> frozenset[int]:
    """The words that punctuation, or the end of the text, follows."""
    if not words:
        return frozenset()
    starts = [word.start for word in words[1:]] + [len(text)]
    between = [text[word.end : start] for word, start in zip(words, starts, strict=True)]
    stops = {place for place, marks in enumerate(between) if not _ENDS.isdisjoint(marks) or " - " in marks}
    return frozenset(stops | {len(words) - 1})


def thought_groups(words: Sequence[Token], tags: Sequence[Tag], ends: frozenset[int]) -> tuple[tuple[int, int], ...]:
    """Half-open ranges of words. Single words between commas (a list's items) stay groups of their own."""
    groups: list[tuple[int, int]] = []
    start = 0
    for place in sorted(ends):
        groups += _cut(words, tags, start, place + 1)
        start = place + 1
    return tuple(groups)


def _cut(words: Sequence[Token], tags: Sequence[Tag], start: int, end: int) -> list[tuple[int, int]]:
    if end - start <= LONGEST_WORDS:
        return [(start, end)]
    places = [
        (_CUT_BEFORE[tags[place]] + _holds(tags[place - 1]) + 2 * abs(2 * place - start - end) / (end - start), place)
        for place in range(start + SHORTEST_WORDS, end - SHORTEST_WORDS + 1)
        if tags[place] in _CUT_BEFORE
        and words[place].spoken[0] not in _SHORT_JOINS
        and tags[place - 1] not in ("preposition", "conjunction", "relative", "article")
        and any(tag in CONTENT for tag in tags[start:place])
        and any(tag in CONTENT for tag in tags[place:end])
    ]
    if not places:
        return [(start, end)]
    _, place = min(places)
    return _cut(words, tags, start, place) + _cut(words, tags, place, end)


def _holds(before: Tag) -> float:
    """A verb holds on to what it governs."""
    return 0.8 if before in ("verb", "past") else 0.0
