"""How alike two words are; the only home of rapidfuzz.

Likeness runs from 0 to 1 and is the greater of two measures, both one minus the edit distance over the longer length
(Levenshtein): of the spelling, and of the sound, over every pronunciation either word has. Words that sound the same
(their, there) are as alike as the same word.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import islice, product

import numpy as np
from numpy.typing import NDArray
from rapidfuzz import fuzz, process
from rapidfuzz.distance import Levenshtein, Prefix

from lessoncut.wording.sounds import phones, unstressed

Likenesses = NDArray[np.float32]

_MOST_FORMS = 64
_LONGEST_JOINED = 6
"""Words; a longer row is compared as it stands."""
_TAKEN_OVER = 2
"""Of so many last sounds of a word the next one may seem to begin with one."""
_PHONES = "AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH UH UW V W Y Z ZH"
_SIGNS = {phone: chr(ord("A") + place) for place, phone in enumerate(_PHONES.split(" "))}
_SPLIT = {
    "n't": ("not",), "'re": ("are",), "'ve": ("have",), "'ll": ("will", "shall"), "'d": ("would", "had"),
    "'s": ("is", "has", "us"), "'m": ("am",),
}  # fmt: skip
_WHOLE = {
    "won't": ("willnot",), "can't": ("cannot",), "shan't": ("shallnot",), "gonna": ("goingto",), "wanna": ("wantto",),
    "gotta": ("gotto",), "gimme": ("giveme",), "lemme": ("letme",), "kinda": ("kindof",), "dunno": ("dontknow",
    "donotknow"), "'em": ("them",), "'cause": ("because",), "'til": ("until",), "'tis": ("itis",), "ok": ("okay",),
    "alright": ("allright",),
}  # fmt: skip


@lru_cache(maxsize=1 << 16)
def likeness(a: str, b: str) -> float:
    """How alike two normalised words are, 0 to 1."""
    return float(likeness_table((a,), (b,))[0, 0])


def likeness_table(rows: Sequence[str], columns: Sequence[str]) -> Likenesses:
    """The likeness of every row word to every column word, shape (rows, columns).

    Every distinct pair is compared once, however often its words come.
    """
    if not rows or not columns:
        return np.zeros((len(rows), len(columns)), dtype=np.float32)
    row_of = {word: place for place, word in enumerate(dict.fromkeys(rows))}
    column_of = {word: place for place, word in enumerate(dict.fromkeys(columns))}
    table = np.maximum(_alike([*row_of], [*column_of]), _sound_alike([*row_of], [*column_of]))
    wanted = np.ix_([row_of[word] for word in rows], [column_of[word] for word in columns])
    return np.ascontiguousarray(table[wanted])


def same_when_joined(a: Sequence[str], b: Sequence[str]) -> bool:
    """Whether two rows of spoken words are one saying written in two ways: "do not" and "don't", "a m" and "am"."""
    return not _forms(tuple(a)).isdisjoint(_forms(tuple(b)))


def first_alike(a: Sequence[str], b: Sequence[str]) -> int:
    """In how many first words two rows are the same."""
    return Prefix.similarity(tuple(a), tuple(b))


def row_likeness(a: Sequence[str], b: Sequence[str]) -> float:
    """How alike two rows of spoken words are as wholes, 0 to 1, by letters or by sounds, whichever is greater.

    One minus the edit distance over the longer length, like a word's likeness; each word sounds its first way.
    """
    if not a or not b:
        return 0.0
    letters = Levenshtein.normalized_similarity(" ".join(a), " ".join(b))
    return max(letters, Levenshtein.normalized_similarity(_sounds_of(tuple(a)), _sounds_of(tuple(b))))


def sounds_apart(a: Sequence[str], b: Sequence[str]) -> int:
    """How many sounds must be put in, left out or exchanged to make one row of spoken words of the other.

    Each word sounds its first way.
    """
    return int(Levenshtein.distance(_sounds_of(tuple(a)), _sounds_of(tuple(b))))


def takes_over(before: str, word: str, heard: str) -> bool:
    """Whether ``heard`` begins in one of the last sounds of ``before`` and goes on as ``word``, within a sound."""
    ends = {sound for way in phones(before) for sound in way[-_TAKEN_OVER:]}
    return any(
        other and other[0] in ends and Levenshtein.distance(other[1:], own) <= 1
        for other in map(unstressed, phones(heard))
        for own in map(unstressed, phones(word))
    )


def sound_count(words: Sequence[str]) -> int:
    """Of how many sounds a row of spoken words is, each said its first way."""
    return len(_sounds_of(tuple(words)))


@lru_cache(maxsize=1 << 14)
def _sounds_of(words: tuple[str, ...]) -> str:
    return "".join(_signs([word])[0][0] for word in words)


def _alike(rows: Sequence[str], columns: Sequence[str]) -> Likenesses:
    table: Likenesses = process.cdist(
        rows, columns, scorer=Levenshtein.normalized_similarity, dtype=np.float32, workers=1
    )
    return table


def _sound_alike(rows: Sequence[str], columns: Sequence[str]) -> Likenesses:
    row_signs, row_starts = _signs(rows)
    column_signs, column_starts = _signs(columns)
    table = _alike(row_signs, column_signs)
    table[np.array([not sign for sign in row_signs])] = 0.0
    by_row = np.maximum.reduceat(table, row_starts, axis=0)
    best: Likenesses = np.maximum.reduceat(by_row, column_starts, axis=1)
    return best


def _signs(words: Sequence[str]) -> tuple[list[str], list[int]]:
    """Every word's pronunciations with one sign a phone, in a row, and where each word's begin."""
    signs: list[str] = []
    starts: list[int] = []
    for word in words:
        starts.append(len(signs))
        sounds = dict.fromkeys(unstressed(pronunciation) for pronunciation in phones(word))
        signs += ["".join(_SIGNS[phone] for phone in sound) for sound in sounds] or [""]
    return signs, starts


@lru_cache(maxsize=1 << 14)
def _forms(words: tuple[str, ...]) -> frozenset[str]:
    """The letters of every way to write these words, contractions undone."""
    if len(words) > _LONGEST_JOINED:
        return frozenset({"".join(words).replace("'", "")})
    ways = product(*(_word_forms(word) for word in words))
    return frozenset("".join(way) for way in islice(ways, _MOST_FORMS))


def _word_forms(word: str) -> tuple[str, ...]:
    forms = [word.replace("'", ""), *_WHOLE.get(word, ())]
    for ending, fuller in _SPLIT.items():
        if word.endswith(ending) and len(word) > len(ending):
            forms += [word.removesuffix(ending) + full for full in fuller]
    return tuple(dict.fromkeys(forms))


@dataclass(frozen=True)
class Place:
    """Where in a text another is most alike: characters ``[start, end)``, and how much, 0 to 1."""

    likeness: float
    start: int
    end: int


def place_in(words: Sequence[str], text: str) -> Place:
    """The part of the text that is most like the words in a row, by letters."""
    found = fuzz.partial_ratio_alignment(" ".join(words), text)
    assert found is not None  # it is None only below a cutoff, and none is asked for
    return Place(found.score / 100, found.dest_start, found.dest_end)
