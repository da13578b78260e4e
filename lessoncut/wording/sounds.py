"""How a word sounds; the only home of the CMU Pronouncing Dictionary, CMUdict.

A pronunciation is a tuple of ARPAbet phones as CMUdict writes them, vowels with their stress: ``("V", "EH1", "S",
"T")``. A word that CMUdict lacks may be there in American spelling, or is taken apart into words that it has (an
ending, a compound); what is left is spelt out by the rules in ``letters``.
"""

from __future__ import annotations

import gzip
from bisect import bisect_left
from collections.abc import Iterator
from functools import cache, lru_cache
from importlib import resources
from itertools import count

from lessoncut.wording.letters import as_a_name, bare_sound, pronounced
from lessoncut.wording.spellings import respelt

Pronunciation = tuple[str, ...]

MOST_PRONUNCIATIONS = 4
_SIBILANTS = frozenset(("S", "Z", "SH", "ZH", "CH", "JH"))
_VOICELESS = frozenset(("P", "T", "K", "F", "TH", "S", "SH", "CH"))
_LEAST_PART = 3
"""Letters of the shortest word inside a compound."""


@lru_cache(maxsize=1 << 16)
def phones(word: str) -> tuple[Pronunciation, ...]:
    """The pronunciations of a normalised word, the likeliest first; empty only for a word of no English letters.

    A consonant's letter has its name first and then its bare sound.
    """
    known = _found(word)
    if len(word) == 1 and (bare := bare_sound(word)):
        known = (*known, bare)
    if not known:
        known = _with_ending(word) or _compound(word)
    if not known:
        known = tuple(dict.fromkeys(guess for guess in (pronounced(word), as_a_name(word)) if guess))
    return known[:MOST_PRONUNCIATIONS]


@lru_cache(maxsize=1 << 16)
def syllables(word: str) -> int:
    """Vowels of the word's first pronunciation, at least 1.

    From CMUdict, or else from the letter rules (which count vowels, not groups of vowel letters: right for 92% of
    CMUdict's own words, against 83% for groups).
    """
    pronunciations = phones(word)
    return max(1, sum(phone[-1].isdigit() for phone in pronunciations[0])) if pronunciations else 1


def in_dictionary(word: str) -> bool:
    """Whether CMUdict has the normalised word; otherwise its sounds are put together or guessed."""
    return next(_entries(word), None) is not None


def headwords() -> tuple[str, ...]:
    """Every word of CMUdict, in its order."""
    return tuple(dict.fromkeys(line.partition(" ")[0].partition("(")[0] for line in _lines()))


def unstressed(pronunciation: Pronunciation) -> Pronunciation:
    """The phones without their stress."""
    return tuple(phone.rstrip("012") for phone in pronunciation)


def _lines() -> list[str]:
    packed = resources.files("lessoncut.wording").joinpath("cmudict", "cmudict.dict.gz").read_bytes()
    return gzip.decompress(packed).decode("utf-8").splitlines()


@cache
def _sorted_lines() -> list[str]:
    """Looked up by halving: to take all 135,166 lines apart would cost every command a sixth of a second."""
    return sorted(_lines())


def _entries(word: str) -> Iterator[str]:
    """The sounds of ``word``, ``word(2)``, ``word(3)``..."""
    lines = _sorted_lines()
    for number in count(1):
        head = f"{word} " if number == 1 else f"{word}({number}) "
        at = bisect_left(lines, head)
        if at == len(lines) or not lines[at].startswith(head):
            return
        yield lines[at].removeprefix(head).partition("#")[0]


def listed(word: str) -> tuple[Pronunciation, ...]:
    """All that CMUdict has for the word, in its order; empty where it has none."""
    return tuple(dict.fromkeys(tuple(sounds.split()) for sounds in _entries(word)))


def _found(word: str) -> tuple[Pronunciation, ...]:
    """All that CMUdict has for the word, in one spelling or another."""
    return listed(word) or next((sounds for other in respelt(word) if (sounds := listed(other))), ())


def _with_ending(word: str) -> tuple[Pronunciation, ...]:
    """A known word with an ending (s, ed, ing, er, ly and the like), or any word with 's."""
    if word.endswith("'s"):
        return tuple((*sounds, *_ending_sound("'s", sounds[-1])) for sounds in phones(word[:-2]))
    for ending, stems in _stems(word):
        for stem in stems:
            known = _found(stem) if len(stem) >= _LEAST_PART else ()
            if known:
                return tuple((*sounds, *_ending_sound(ending, sounds[-1])) for sounds in known)
    return ()


def _stems(word: str) -> list[tuple[str, tuple[str, ...]]]:
    """(ending, stems it may have been put to)."""
    found: list[tuple[str, tuple[str, ...]]] = []
    for ending in ("ing", "ed", "es", "s", "er", "ers", "ly", "ness", "less", "ful", "able", "y", "ish"):
        stem = word.removesuffix(ending)
        if stem == word or not stem:
            continue
        stems = [stem]
        if ending in ("ing", "ed", "es", "er", "ers", "y", "able", "ish"):
            stems.append(f"{stem}e")
            if len(stem) > 3 and stem[-1] == stem[-2]:
                stems.append(stem[:-1])
        if stem.endswith("i") and ending in ("ed", "es", "er", "ers", "ly", "ness"):
            stems.append(f"{stem[:-1]}y")
        found.append((ending, tuple(stems)))
    return found


def _ending_sound(ending: str, last: str) -> Pronunciation:
    plain = {"ing": "IH0 NG", "er": "ER0", "ers": "ER0 Z", "ly": "L IY0", "ness": "N AH0 S", "less": "L AH0 S",
             "ful": "F AH0 L", "able": "AH0 B AH0 L", "y": "IY0", "ish": "IH0 SH"}  # fmt: skip
    if ending in plain:
        return tuple(plain[ending].split())
    if ending == "ed":
        return ("IH0", "D") if last in ("T", "D") else ("T",) if last in _VOICELESS else ("D",)
    return ("IH0", "Z") if last in _SIBILANTS else ("S",) if last in _VOICELESS else ("Z",)


def _compound(word: str) -> tuple[Pronunciation, ...]:
    """Two known words written as one, the second as long as may be."""
    for cut in range(_LEAST_PART, len(word) - _LEAST_PART + 1):
        first, second = listed(word[:cut]), listed(word[cut:])
        if first and second:
            return ((*first[0], *(phone.replace("1", "2") for phone in second[0])),)
    return ()
