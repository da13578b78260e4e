"""Which hearings are not to be believed, and which of two is better. Pure.

A recogniser swallows a second reading inside one long word, loops, invents text in a pause, and leaves speech
without words. Each of these shows in how many syllables it heard in how much speech.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import pairwise

from lessoncut import wording
from lessoncut.hearing.records import HeardWord
from lessoncut.times import Span

LEAST_UNHEARD_MS = 250
"""Speech as long as this must have words."""
HOLE_MS = 1000
"""So much speech without a word, though there are words before or after it, was swallowed."""
SPARSE_FROM_MS = 700
SPARSE_A_SECOND, DENSE_A_SECOND = 1.5, 9.0
"""Syllables: slow reading has 3 a second, fast talk 6 or 7 (common practice, no source)."""
DENSE_FROM = 4
LOOP_TIMES = 4
_STUCK = re.compile(rf"\b(\w+)(?:\W+\1\b){{{LOOP_TIMES - 1}}}", re.IGNORECASE)
LONGEST_LOOP = 6
SQUEEZED_MS = 20
"""A word this short was not said there: the network gave its text twice and had sound for one of the two."""
LATE_MS = 120
"""How far behind its speech such a word may be given."""
LEAST_SQUEEZED, SQUEEZED_SHARE = 2, 0.6
LONGEST_TWICE = 12
VOICED = 0.35
"""Share of a word with speech behind it, below which it is not counted as said."""


def syllables(words: Iterable[HeardWord]) -> int:
    return sum(wording.syllables(spoken) for word in words for spoken in wording.spoken(word.text))


def shortest_ms(word: HeardWord) -> int:
    """What the word takes when it is said as fast as can be understood."""
    return 40 + 60 * syllables([word])


def longest_ms(word: HeardWord) -> int:
    """What the word takes when it is said slowly; longer ones hide something."""
    return 350 + 350 * syllables([word])


def on_speech(word: HeardWord, speech: Sequence[Span]) -> HeardWord:
    """The word cut to the stretch of speech it belongs to, and how much of it is voiced.

    Of two stretches the earlier one is taken where it holds enough of the word: the network lets the last word
    before a pause run on into the next speech, never the other way round. ``speech`` is what lies near, in order.
    """
    wanted_ms = min(word.span.length_ms, shortest_ms(word))
    if not wanted_ms:
        return replace(word, voiced=float(any(s.contains(word.span.start_ms) for s in speech)))
    shared = [s.overlap_ms(word.span) for s in speech]
    enough = [at for at, ms in enumerate(shared) if ms >= wanted_ms]
    most = max(shared, default=0)
    if not most:
        return replace(word, voiced=0.0)
    own = speech[enough[0] if enough else shared.index(most)]
    return replace(word, span=word.span.clipped(own), voiced=round(min(1.0, own.overlap_ms(word.span) / wanted_ms), 3))


def unsqueezed(words: Sequence[HeardWord]) -> tuple[HeardWord, ...]:
    """The words, one that was given no time right behind the speech having its share of a word before that lasts too
    long for itself."""
    row = list(words)
    for at, (before, word) in enumerate(pairwise(words), start=1):
        late_ms = word.span.start_ms - before.span.end_ms
        timeless = word.voiced < VOICED and word.span.length_ms < SQUEEZED_MS and 0 <= late_ms <= LATE_MS
        if timeless and before.voiced >= VOICED and before.span.length_ms > longest_ms(before):
            share = syllables([before]) / max(1, syllables([before, word]))
            parted_ms = before.span.start_ms + round(share * before.span.length_ms)
            row[at - 1] = replace(before, span=Span(before.span.start_ms, parted_ms))
            row[at] = replace(word, span=Span(parted_ms, before.span.end_ms), voiced=before.voiced)
    return tuple(row)


def doubtful(speech: Sequence[Span], words: Sequence[HeardWord], least_probability: float = 0.0) -> tuple[Span, ...]:
    """The stretches of speech that want hearing again; also those whose words are less probable than that."""
    looping = [word.span for word in loops(words)]
    return tuple(
        span
        for span, own in zip(speech, words_of(speech, words), strict=True)
        if is_odd(span, own)
        or (own and sum(word.probability for word in own) < least_probability * len(own))
        or any(span.overlap_ms(loop) for loop in looping)
    )


def swallowed(speech: Sequence[Span], words: Sequence[HeardWord]) -> tuple[Span, ...]:
    """The long stretches without a word inside speech that has some: a pause would have parted them from it."""
    found = []
    for span, own in zip(speech, words_of(speech, words), strict=True):
        starts = [*(word.span.start_ms for word in own), span.end_ms]
        ends = [span.start_ms, *(word.span.end_ms for word in own)]
        found += [Span(end, start) for end, start in zip(ends, starts, strict=True) if own and start - end >= HOLE_MS]
    return tuple(found)


def is_odd(span: Span, own: Sequence[HeardWord]) -> bool:
    """Whether these words cannot be just what was said in this stretch of speech."""
    if any(word.voiced < VOICED or _is_stuck(word) for word in own):
        return True
    if not own:
        return span.length_ms >= LEAST_UNHEARD_MS
    a_second = 1000 * syllables(own) / span.length_ms
    if span.length_ms >= SPARSE_FROM_MS and a_second < SPARSE_A_SECOND:
        return True
    if a_second > DENSE_A_SECOND and syllables(own) >= DENSE_FROM:
        return True
    return any(word.span.length_ms > longest_ms(word) for word in own)


def words_of(speech: Sequence[Span], words: Iterable[HeardWord]) -> list[list[HeardWord]]:
    """The words of every stretch: each belongs to the one it shares most with, or else to the nearest."""
    found: list[list[HeardWord]] = [[] for _ in speech]
    for word in words if speech else ():
        at = bisect_left(speech, word.span.start_ms, key=lambda span: span.end_ms)
        around = range(max(0, at - 1), min(len(speech), at + 2))
        own = max(around, key=lambda at: (speech[at].overlap_ms(word.span), -speech[at].gap_to_ms(word.span)))
        found[own].append(word)
    return found


def _is_stuck(word: HeardWord) -> bool:
    """Whether it loops in itself, as what is spelt may: "B-A-P-F-F-F-F-F"."""
    return _STUCK.search(word.text) is not None


def loops(words: Sequence[HeardWord]) -> list[HeardWord]:
    """The words of every row of one to six words that is said four times or more on end."""
    texts = [_bare(word) for word in words]
    found: set[int] = set()
    for length in range(1, LONGEST_LOOP + 1):
        same = [texts[at] == texts[at + length] for at in range(len(texts) - length)]
        run = 0
        for at, is_same in enumerate([*same, False]):
            if is_same:
                run += 1
                continue
            if run >= length * (LOOP_TIMES - 1):
                found.update(range(at - run, at + length))
            run = 0
    return [words[at] for at in sorted(found)]


def unlooped(words: Sequence[HeardWord]) -> tuple[HeardWord, ...]:
    """The words without those that repeat the ones before in no time.

    Of a row given twice on end, with words that take no time, one is kept: the first words of the first, the last
    words of the second, parted where both together last longest.
    """
    row = list(words)
    at = 0
    while at < len(row):
        lengths = range(min(LONGEST_TWICE, (len(row) - at) // 2), 0, -1)
        length = next((n for n in lengths if _is_squeezed_twice(row[at : at + n], row[at + n : at + 2 * n])), 0)
        if length:
            row[at : at + 2 * length] = _one_of(row[at : at + length], row[at + length : at + 2 * length])
        else:
            at += 1
    return tuple(row)


def _is_squeezed_twice(first: Sequence[HeardWord], second: Sequence[HeardWord]) -> bool:
    if [_bare(word) for word in first] != [_bare(word) for word in second]:
        return False
    squeezed = sum(word.span.length_ms < SQUEEZED_MS for word in (*first, *second))
    if squeezed and len(first) == LEAST_SQUEEZED and any(map(_is_too_short, (first, second))):
        return True
    return squeezed >= max(LEAST_SQUEEZED, SQUEEZED_SHARE * len(first))


def _is_too_short(row: Sequence[HeardWord]) -> bool:
    """Whether all of it lasts less long than it takes said as fast as can be understood."""
    return sum(word.span.length_ms for word in row) < sum(map(shortest_ms, row))


def _one_of(first: Sequence[HeardWord], second: Sequence[HeardWord]) -> list[HeardWord]:
    ways = [[*first[:parted], *second[parted:]] for parted in range(len(first) + 1)]
    return max(ways, key=lambda way: sum(word.span.length_ms for word in way))


def _bare(word: HeardWord) -> str:
    return word.text.strip(".,?!").lower()


def worth(span: Span, own: Sequence[HeardWord]) -> float:
    """How much of the speech these words account for believably: their syllables, each by its probability."""
    looping = loops(own)
    believed = [word for word in own if word not in looping and word.voiced >= VOICED and not _is_stuck(word)]
    sure = sum(word.probability * syllables([word]) for word in believed)
    return sure / 2 if own and is_odd(span, own) else sure


def in_order(words: Iterable[HeardWord]) -> tuple[HeardWord, ...]:
    """By time, each ending where the next one begins at the latest."""
    row = sorted(words, key=lambda word: word.span)
    cut = [
        replace(word, span=Span(word.span.start_ms, min(word.span.end_ms, later.span.start_ms)))
        for word, later in pairwise(row)
    ]
    return (*cut, *row[-1:])
