"""Split a long line at its thought groups, so that a learner can hold each part in mind."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lessoncut.lesson.pacing import LEVELS, Pacing, gap_size
from lessoncut.phrasing import Break, break_between
from lessoncut.times import Span

PAUSE_MS = 200
"""A pause of the reading's own: brief ones are shorter (Campione and Veronis 2002)."""
LEAST_SYLLABLES = 4
LEAST_WORDS = 2
"""Of each part."""


@dataclass(frozen=True)
class GroupWord:
    """A written word with its time in the reading."""

    text: str
    span: Span
    syllables: int


def parts_of(words: Sequence[GroupWord], pacing: Pacing, language: str = "en") -> tuple[tuple[int, int], ...]:
    """The parts ``[first, last)`` of a line as the level asks for; one part when it may stay whole."""
    return tuple(_parts(words, 0, len(words), pacing, language))


def _parts(words: Sequence[GroupWord], first: int, last: int, pacing: Pacing, language: str) -> list[tuple[int, int]]:
    part = words[first:last]
    kinds = _allowed(part, pacing)
    place = _best_place(part, kinds, language) if kinds else None
    if place is None:
        return [(first, last)]
    middle = first + place
    return _parts(words, first, middle, pacing, language) + _parts(words, middle, last, pacing, language)


def _allowed(part: Sequence[GroupWord], pacing: Pacing) -> tuple[tuple[Break, ...], ...]:
    """Which places will do, the better kinds first; none when the part is short enough."""
    if not part:
        return ()
    level = LEVELS[pacing.level]
    syllables = sum(word.syllables for word in part)
    spoken_ms = part[-1].span.end_ms - part[0].span.start_ms
    must = gap_size(spoken_ms, syllables, pacing).clamped
    hard = syllables > level.hard_syllables or spoken_ms > level.hard_ms
    marks: tuple[Break, ...] = ("sentence", "clause")
    phrases: tuple[Break, ...] = ("conjunction", "preposition")
    if must:
        return (marks, phrases, ("plain",))
    if hard:
        return (marks, phrases)
    return (marks,) if syllables > level.soft_syllables else ()


def _best_place(part: Sequence[GroupWord], kinds: Sequence[Sequence[Break]], language: str) -> int | None:
    """The longest pause of the reading; else the most balanced place of the best kind there is."""
    places = [at for at in range(LEAST_WORDS, len(part) - LEAST_WORDS + 1) if _balance(part, at) >= LEAST_SYLLABLES]
    kind_of = {at: break_between(part[at - 1].text, part[at].text, language) for at in places}
    pauses = [at for at in places if kind_of[at] != "pair" and _pause_ms(part, at) >= PAUSE_MS]
    if pauses:
        return max(pauses, key=lambda at: (_pause_ms(part, at), _balance(part, at)))
    for kind in kinds:
        found = [at for at in places if kind_of[at] in kind]
        if found:
            return max(found, key=lambda at: _balance(part, at))
    return None


def _pause_ms(part: Sequence[GroupWord], at: int) -> int:
    return max(0, part[at].span.start_ms - part[at - 1].span.end_ms)


def _balance(part: Sequence[GroupWord], at: int) -> int:
    """Syllables of the smaller part when the split is before word ``at``."""
    before = sum(word.syllables for word in part[:at])
    return min(before, sum(word.syllables for word in part) - before)
