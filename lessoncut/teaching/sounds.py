"""The lesson's target sounds: their names, where they stand in the passage, and words that differ in them only.

A sound is an ARPAbet phone without stress, ``V``; the weak vowel of "about" is ``AH0``, apart from the ``AH`` of "cup".
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from lessoncut.errors import ChoiceError
from lessoncut.teaching.records import Coverage, MinimalPair, Position, RuleLine, SoundPlace, Targets
from lessoncut.teaching.syllables import bare, ipa_of, letters_of
from lessoncut.teaching.unfit_words import is_unfit
from lessoncut.teaching.word_lists import NO_WORDS, words
from lessoncut.wording import headwords, in_dictionary, phones

SHORTEST_LETTERS = 3
"""Shorter words are letters' names and abbreviations more often than words (v/we, p/be)."""
LEAST_COMMON = -6.0
"""log10 of a word's share of speech under which learners are not expected to know it."""
MOST_PAIRS = 24
_VOWEL_LETTER = re.compile("[aeiouy]")
_NAMED = {
    **{letter: letter.upper() for letter in "bdfgklmnprstvwz"}, "h": "HH", "j": "Y", "y": "Y", "c": "K",
    "th": "TH", "dh": "DH", "sh": "SH", "zh": "ZH", "ch": "CH", "ng": "NG", "θ": "TH", "ð": "DH", "ʃ": "SH",
    "ʒ": "ZH", "ŋ": "NG", "tʃ": "CH", "dʒ": "JH", "ɹ": "R", "ɡ": "G", "iː": "IY", "i": "IY", "ɪ": "IH", "e": "EH",
    "ɛ": "EH", "æ": "AE", "ʌ": "AH", "ə": "AH0", "ɑː": "AA", "ɑ": "AA", "ɒ": "AA", "ɔː": "AO", "ɔ": "AO", "ʊ": "UH",
    "uː": "UW", "u": "UW", "ɜː": "ER", "ɝ": "ER", "ɚ": "ER", "eɪ": "EY", "aɪ": "AY", "ɔɪ": "OY", "aʊ": "AW",
    "oʊ": "OW", "əʊ": "OW",
}  # fmt: skip
"""Letters and IPA symbols, as people write them."""
_PHONES = words("AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH UH UW V W Y Z ZH")


@dataclass(frozen=True)
class Wanted:
    """What ``--sounds`` names: single sounds, and contrasts between two of them."""

    sounds: tuple[str, ...]
    contrasts: tuple[tuple[str, str], ...]


def wanted(written: str) -> Wanted:
    """``v w``, ``θ``, ``TH``, ``v/w`` or several of these. Two sounds and no contrast are taken for a contrast.

    Raises ChoiceError for a sound that English does not have.
    """
    sounds: list[str] = []
    contrasts: list[tuple[str, str]] = []
    for part in written.replace(",", " ").split():
        names = [name for name in part.split("/") if name]
        found = [_sound(name) for name in names]
        sounds += found
        if len(found) == 2 and not part.startswith("/"):
            contrasts.append((found[0], found[1]))
        elif len(found) > 2 or not found:
            raise ChoiceError(f"“{part}” is neither a sound nor a contrast of two", hint="write v/w, or v w, or /θ/")
    distinct = tuple(dict.fromkeys(sounds))
    if not contrasts and len(distinct) == 2:
        contrasts = [(distinct[0], distinct[1])]
    return Wanted(distinct, tuple(contrasts))


def _sound(name: str) -> str:
    if name in _PHONES and len(name) > 1:
        return name
    plain = name.strip("ˈˌ[]").lower()
    if plain in _NAMED:
        return _NAMED[plain]
    if plain.upper() in _PHONES:
        return plain.upper()
    raise ChoiceError(
        f"“{name}” is not a sound of English", hint="use an IPA symbol (θ), an ARPAbet name (TH) or plain letters (th)"
    )


def shown(sound: str) -> str:
    """The sound as teachers write it: ``/v/``."""
    return f"/{ipa_of(sound)}/"


def is_sound(phone: str, sound: str) -> bool:
    """Whether a phone, with or without its stress, is the target sound."""
    if sound == "AH":
        return bare(phone) == "AH" and not phone.endswith("0")
    return phone == sound if sound.endswith("0") else bare(phone) == sound


def places(rules: Iterable[RuleLine], sounds: Sequence[str]) -> tuple[SoundPlace, ...]:
    """Every target sound of these lines, in order, with the letters that spell it."""
    return tuple(
        SoundPlace(sound, rule.line_id, number, word.text, *_letters(word.text, word.start, word.sounds, at),
                   _position(at, len(word.sounds)), all(map(in_dictionary, word.spoken)))
        for rule in rules
        for number, word in enumerate(rule.words)
        for at, phone in enumerate(word.sounds)
        for sound in sounds
        if is_sound(phone, sound)
    )  # fmt: skip


def _letters(text: str, offset: int, sounds: tuple[str, ...], at: int) -> tuple[int, int]:
    """The letters of one phone; the whole word where nothing spells it (a number, an added sound)."""
    if not text.replace("'", "").replace("’", "").isalpha():
        return offset, offset + len(text)
    start, end = letters_of(text, sounds)[at]
    return (offset + start, offset + end) if end > start else (offset, offset + len(text))


def _position(at: int, count: int) -> Position:
    return "initial" if at == 0 else "final" if at == count - 1 else "medial"


def coverage(line_ids: Sequence[str], found: Iterable[SoundPlace], sounds: Sequence[str]) -> tuple[Coverage, ...]:
    """How the passage drills each sound, line by line."""
    table = []
    for sound in sounds:
        here = [place for place in found if place.sound == sound]
        counts = {line_id: sum(place.line_id == line_id for place in here) for line_id in line_ids}
        initial, medial, final = (
            sum(place.position == position for place in here) for position in ("initial", "medial", "final")
        )
        without = tuple(line for line, count in counts.items() if not count)
        table.append(Coverage(sound, initial, medial, final, tuple(counts.items()), without))
    return tuple(table)


def coverage_told(table: Coverage) -> str:
    """The table in a sentence."""
    without = f"; lines without it: {', '.join(table.lines_without)}" if table.lines_without else ""
    counts = f"{table.initial} initial, {table.medial} medial, {table.final} final"
    return f"{shown(table.sound)}: {table.total} in the passage ({counts}){without}"


def places_told(found: Iterable[SoundPlace], line_id: str, sound: str) -> str:
    """The words of one line that hold the sound, and where in the word; empty where none does."""
    here = [place for place in found if (place.line_id, place.sound) == (line_id, sound)]
    return ", ".join(f"{place.text} ({place.position}{'' if place.by_dictionary else ', guessed'})" for place in here)


def targets(
    rules: Sequence[RuleLine], written: str, commonness: Callable[[str], float] | None, most: int = MOST_PAIRS
) -> Targets:
    """All there is to say of the sounds that ``written`` names; ``commonness`` None leaves the pairs out."""
    named = wanted(written)
    found = places(rules, named.sounds)
    pairs = () if commonness is None else tuple(
        pair for contrast in named.contrasts for pair in minimal_pairs(*contrast, commonness)[:most]
    )  # fmt: skip
    table = coverage([rule.line_id for rule in rules], found, named.sounds)
    return Targets(named.sounds, named.contrasts, found, table, pairs)


def minimal_pairs(first: str, second: str, commonness: Callable[[str], float]) -> tuple[MinimalPair, ...]:
    """Pairs of words that differ in these two sounds and nothing else, the commonest first.

    A pair is as common as its rarer word. One pair stands for each row of sounds; words unfit for a class, very short
    ones and capitalised rows of letters are left out.
    """
    by_sounds: dict[tuple[str, ...], list[tuple[float, str]]] = defaultdict(list)
    for word in headwords():
        if _fits_a_class(word) and (share := commonness(word)) >= LEAST_COMMON:
            by_sounds[phones(word)[0]].append((share, word))
    pairs = []
    for sounds, same in by_sounds.items():
        for at, phone in enumerate(sounds):
            if not is_sound(phone, first) or len(sounds) < 2:
                continue
            other = second if second.endswith("0") else bare(second) + phone[len(bare(phone)) :]
            partners = by_sounds.get((*sounds[:at], other, *sounds[at + 1 :]))
            if partners:
                (share, word), (other_share, partner) = max(same), max(partners)
                pairs.append(MinimalPair(word, partner, _position(at, len(sounds)), round(min(share, other_share), 2)))
    return tuple(sorted(pairs, key=lambda pair: (-pair.commonness, pair.first)))


def _fits_a_class(word: str) -> bool:
    spelt_out = not word.isalpha() or not _VOWEL_LETTER.search(word)
    return len(word) >= SHORTEST_LETTERS and not spelt_out and word not in NO_WORDS and not is_unfit(word)
