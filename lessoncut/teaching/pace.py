"""Pace and phrasing of a reading: syllables a second, pauses, thought groups as read, linking and weak forms.

Pauses by class as Campione and Véronis 2002 found them in five languages: brief under 200 ms, medium to 1000 ms, long.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from lessoncut.teaching.records import Link, LinkKind, Pause, PauseKind, Prominence, ReadPhone, RuleLine, RuleWord
from lessoncut.teaching.syllables import bare, is_vowel
from lessoncut.times import Span

LEAST_PAUSE_MS = 60
"""Shorter silences are stop consonants."""
BRIEF_MS, MEDIUM_MS = 200, 1000
GROUP_PAUSE_MS = 150
"""Silence from which a new thought group begins."""
LINK_MS = 60
"""Words this close are said as one."""
_FRONT, _BACK = frozenset({"IY", "EY", "AY", "OY"}), frozenset({"UW", "OW", "AW"})
_WEAK_ENDS = {"i": "IY0", "u": "UW0", "ə": "AH0"}
_WEAK_MS = 90
"""A weak vowel is no longer than this (design value)."""


def kind_of(length_ms: int) -> PauseKind:
    return "brief" if length_ms < BRIEF_MS else "medium" if length_ms < MEDIUM_MS else "long"


def pauses(word_spans: Sequence[Span | None]) -> tuple[Pause, ...]:
    """Silences between words that have a time; ``word_spans`` is by word of the line."""
    timed = [(word, span) for word, span in enumerate(word_spans) if span is not None]
    return tuple(
        Pause(Span(before.end_ms, after.start_ms), word, kind_of(after.start_ms - before.end_ms))
        for (_, before), (word, after) in pairwise(timed)
        if after.start_ms - before.end_ms >= LEAST_PAUSE_MS
    )


def groups(count: int, found: Sequence[Pause]) -> tuple[tuple[int, int], ...]:
    """Thought groups as read: half-open ranges of ``count`` words, cut at pauses of ``GROUP_PAUSE_MS`` and more."""
    if not count:
        return ()
    starts = [0, *(pause.before_word for pause in found if pause.span.length_ms >= GROUP_PAUSE_MS)]
    return tuple(pairwise([*starts, count]))


def syllable_count(rule: RuleLine) -> int:
    """Vowels of the pronunciations that fit; at least one for each word that has sounds."""
    return sum(max(1, sum(is_vowel(phone) for phone in word.sounds)) for word in rule.words if word.sounds)


def rates(syllables: int, span: Span, found: Sequence[Pause]) -> tuple[float, float]:
    """Syllables a second of speech, and of speech with its pauses. Zero for a reading without length."""
    spoken_ms = span.length_ms - sum(pause.span.length_ms for pause in found)
    return _per_second(syllables, spoken_ms), _per_second(syllables, span.length_ms)


def _per_second(syllables: int, length_ms: int) -> float:
    return round(1000 * syllables / length_ms, 2) if length_ms > 0 else 0.0


def links(rule: RuleLine, word_spans: Sequence[Span | None] | None = None) -> tuple[Link, ...]:
    """Where two words are said as one: inside a thought group, and, given times, where no silence parts them."""
    ends = {end - 1 for _, end in rule.groups}
    found = []
    for number, (word, following) in enumerate(pairwise(rule.words)):
        kind = link_kind(_as_said(word), following.sounds)
        if kind is None or (number in ends and word_spans is None):
            continue
        if word_spans is not None:
            here, there = word_spans[number], word_spans[number + 1]
            if here is None or there is None or there.start_ms - here.end_ms > LINK_MS:
                continue
        found.append(Link(number, kind))
    return tuple(found)


def _as_said(word: RuleWord) -> tuple[str, ...]:
    """The word's sounds; its last one as the weak form has it ("the" before a vowel ends like "see")."""
    last = _WEAK_ENDS.get(word.weak[-1]) if word.weak else None
    return (*word.sounds[:-1], last) if last and word.sounds else word.sounds


def link_kind(before: Sequence[str], after: Sequence[str]) -> LinkKind | None:
    """How English links two words by the sounds that meet (the usual three kinds; common knowledge of the trade)."""
    if not before or not after:
        return None
    last, first = bare(before[-1]), bare(after[0])
    if last == "ER" and is_vowel(after[0]):
        return "consonant_to_vowel"  # it ends in an r, which is what links
    if not is_vowel(before[-1]):
        return "consonant_to_vowel" if is_vowel(after[0]) else "held" if last == first else None
    if not is_vowel(after[0]):
        return None
    return "glide_y" if last in _FRONT else "glide_w" if last in _BACK else None


def weak_as_read(rule: RuleLine, phones: Sequence[ReadPhone], read: Sequence[Prominence]) -> tuple[int, ...]:
    """Words with a weak form that were read weak: a short vowel that is not prominent."""
    strong = {one.word for one in read if one.strong}
    vowel_ms = {phone.word: phone.span.length_ms for phone in phones if is_vowel(phone.label)}
    return tuple(
        number
        for number, word in enumerate(rule.words)
        if word.weak is not None and number not in strong and vowel_ms.get(number, _WEAK_MS + 1) <= _WEAK_MS
    )
