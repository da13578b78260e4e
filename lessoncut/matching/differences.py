"""Where the words heard in a reading differ from the script's, by the text alone."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from difflib import SequenceMatcher

from lessoncut import wording
from lessoncut.hearing.records import HeardWord
from lessoncut.matching.ground import Ground, said
from lessoncut.matching.lay import Candidate
from lessoncut.matching.records import Change
from lessoncut.phrasing import is_function_word
from lessoncut.script.records import Line
from lessoncut.wording import Token

SAME_WORD = 0.8
"""Likeness from which two spellings are taken for one word."""
MOST_CHANGED_WORDS, MOST_MOVED = 2, 3
MOST_ALIKE = 0.6
"""Likeness up to which two rows of words are clearly not one, misspelt."""
LEAST_APART = 2
"""Sounds."""
LEAST_LETTERS = 3
"""Of a part of a word."""
LEAST_HEARD, WELL_HEARD, SURELY_HEARD = 0.25, 0.6, 0.9
"""The recogniser's probability: with less a word is not believed at all; so much it takes for the sound not to be
asked, or where it would judge by a pronunciation that is but guessed; with more it speaks for a change."""
EVEN, MOST_SLIGHT = 0.5, 4
"""So probable a slight difference must be; of more in one reading none is believed."""
LEAST_FAINT, MOST_FAINT_WORDS = 0.05, 4
"""How probable at least, and of how many words at most, what only the likeness of the sound can tell may be."""
SHORT_WORD, WELL_HEARD_SMALL = 2, 0.8
"""Recognisers lose, exchange and run together function words, and hear words of so few sounds in others. Such changes,
and those of two words, must be as surely heard."""
LEAST_RIGHT, LEAST_RIGHT_SHARE = 2, 0.5
"""So many of a line's words, and so much of it, must have been heard as they stand for another to be misread."""
VOWELS = frozenset("aeiouy")
DOUBLE = "double"
"""Said for the first of two figures that are the same, wherever the script parts them."""
_CLOCK = re.compile(r"(\d|[01]\d|2[0-3])([0-5]\d)[.,?!]?")


def slight_differences(line: Line, heard: Sequence[HeardWord]) -> tuple[tuple[Change, float], ...]:
    """Replacements of the line's words by others of other sounds, however alike, and small words left out or put in;
    and how probable the heard ones are. Most of them are mishearings; none where there are many."""
    texts, sure = _heard_as_spoken(line, heard)
    named = _unless_other_words(line, texts)
    found = list(_moved(line, named, sure, EVEN, EVEN))
    for change, probability in _replacements(line, texts, named, sure):
        words = all(map(wording.in_dictionary, (*change.script, *change.heard)))
        if probability >= EVEN and words and not _is_another_way(line, change):
            found.append((change, probability))
    return tuple(found) if len(found) <= MOST_SLIGHT else ()


def faint_differences(line: Line, heard: Sequence[HeardWord]) -> tuple[tuple[Change, float], ...]:
    """Whatever else was heard in the place of a few of the line's words, however improbable and however like them, and
    words left out or put in between others; none in or beside what may be said in several ways."""
    texts, sure = _heard_as_spoken(line, heard)
    named = _unless_other_words(line, texts)
    found = list(_moved(line, named, sure, LEAST_FAINT, LEAST_FAINT))
    for change, there in _replaced(line, texts, named, MOST_FAINT_WORDS):
        probability = min(sure[there])
        if probability >= LEAST_FAINT and not _is_another_way(line, change):
            found.append((change, probability))
    return tuple(found)


def _unless_other_words(line: Line, texts: Sequence[str]) -> list[str]:
    """What was heard, in the script's spelling where that is the same word."""
    pairs = zip(texts, _heard_as_script(line.spoken, texts), strict=True)
    return [text if _are_other_words(text, as_script) else as_script for text, as_script in pairs]


def _are_other_words(heard: str, script: str) -> bool:
    """Whether both are words, and of other sounds: "shoe" and "shoes", but not "grey" and "gray"."""
    both = wording.in_dictionary(heard) and wording.in_dictionary(script)
    return both and wording.sounds_apart((heard,), (script,)) > 0


def differences(
    line: Line, heard: Sequence[HeardWord], least_sure: float = LEAST_HEARD, least_apart: int = LEAST_APART
) -> tuple[tuple[Change, float], ...]:
    """Short replacements of the line's words by clearly other words, and how probable the heard ones are; a word or two
    that were left out, put in or swapped are a replacement together with the word beside them. Surely heard words may
    be but ``least_apart`` sounds from the script's.

    Another way of saying the same number or date is none. Words of which the recogniser was not ``least_sure`` are not
    among the changes, nor small ones left out or put in unless all around was surely heard: it loses and invents these
    too often.
    """
    texts, sure = _heard_as_spoken(line, heard)
    named = _heard_as_script(line.spoken, texts)
    found = list(_moved(line, named, sure, WELL_HEARD, SURELY_HEARD))
    for change, probability in _replacements(line, texts, named, sure):
        well_heard = probability >= _asked_for(change, least_sure)
        apart = _are_apart(change) or (probability >= SURELY_HEARD and _are_two_words(change, least_apart))
        lost = _is_part(change) or _takes_over(line.spoken, change)
        if well_heard and apart and not (lost or _is_another_way(line, change)):
            found.append((change, probability))
    return tuple(found)


def _heard_as_spoken(line: Line, heard: Sequence[HeardWord]) -> tuple[list[str], list[float]]:
    """The spoken words of those heard, and how probable each is."""
    spoken = [(text, word.probability) for word in heard for text in _said_as(line.spoken, word)]
    return [text for text, _ in spoken], [probability for _, probability in spoken]


def _said_as(script: Sequence[str], word: HeardWord) -> tuple[str, ...]:
    """The spoken words of a heard one; of three or four figures, the hours and minutes where the script has more of
    these."""
    plain = said([word])
    if not (figures := _CLOCK.fullmatch(word.text)):
        return plain
    as_time = wording.spoken(":".join(figures.groups()))
    return max(plain, as_time, key=lambda texts: len(set(texts).intersection(script)) / len(texts))


def _replacements(
    line: Line, texts: Sequence[str], named: Sequence[str], sure: Sequence[float]
) -> Iterator[tuple[Change, float]]:
    """Few words that stand in the place of others, and how probable they are; of as many words, each in the place of
    one, but where together they say the same. ``named``: what was heard as the script's words by their spelling."""
    for change, there in _replaced(line, texts, named, MOST_CHANGED_WORDS):
        probable = sure[there]
        alike = wording.row_likeness(change.script, named[there]) > MOST_ALIKE
        if len(change.script) == len(change.heard) and not (alike or _is_known_way(line, change)):
            yield from _one_by_one(change, probable)
        else:
            yield change, min(probable)


def _replaced(line: Line, texts: Sequence[str], named: Sequence[str], most: int) -> Iterator[tuple[Change, slice]]:
    """Up to so many words that stand in the place of up to so many others, and where they stand in what was heard."""
    script = line.spoken
    for tag, first, upto, heard_first, heard_upto in SequenceMatcher(None, script, named, autojunk=False).get_opcodes():
        if tag == "replace" and max(upto - first, heard_upto - heard_first) <= most:
            there = slice(heard_first, heard_upto)
            yield Change(first, upto - 1, tuple(script[first:upto]), tuple(texts[there])), there


def _one_by_one(change: Change, probable: Sequence[float]) -> Iterator[tuple[Change, float]]:
    pairs = zip(change.script, change.heard, probable, strict=True)
    for at, (word, text, probability) in enumerate(pairs, start=change.first):
        yield Change(at, at, (word,), (text,)), probability


def _moved(
    line: Line, heard: Sequence[str], sure: Sequence[float], least: float, least_small: float
) -> Iterator[tuple[Change, float]]:
    """Words that were left out, put in or swapped between two that were heard, and how surely these were: ``least``, or
    ``least_small`` where all of them are small. None in or beside what may be said in several ways."""
    script: Sequence[str] = line.spoken
    parts = SequenceMatcher(None, script, heard, autojunk=False).get_opcodes()
    at = 0
    while at < len(parts):
        tag, first, upto, heard_first, heard_upto = parts[at]
        if _is_swap(parts[at : at + 3]):
            _, _, upto, _, heard_upto = parts[at + 2]
            words, surely, at = script[first:upto], min(sure[heard_first:heard_upto]), at + 2
        elif tag in ("delete", "insert") and heard_first > 0 and heard_upto < len(heard) and upto < len(script):
            words = script[first:upto] if tag == "delete" else heard[heard_first:heard_upto]
            if tag == "insert" and _are_unit_of_figure(line, first, words):
                words = ()
            surely = min(sure[heard_first - 1 : heard_upto + 1])
            upto, heard_upto = upto + 1, heard_upto + 1  # with the word behind
        else:
            words, surely = (), 0.0
        at += 1
        if surely >= (least if are_telling(words) else least_small) and _are_few(words):
            change = Change(first, upto - 1, tuple(script[first:upto]), tuple(heard[heard_first:heard_upto]))
            if not _meets_ways(line, change):
                yield change, surely


def _are_unit_of_figure(line: Line, at: int, words: Sequence[str]) -> bool:
    """Whether the words that are put in before that word of the line but name what is counted, behind a figure."""
    before = met_tokens(line, Change(at - 1, at - 1, (), ()))
    behind_figure = any(upto == at and token.text[:1].isdecimal() for _, upto, token in before)
    return behind_figure and all(map(wording.is_unit, words))


def _is_swap(parts: Sequence[tuple[str, int, int, int, int]]) -> bool:
    """Whether what is put in before a word or two is left out behind them."""
    tags = {part[0] for part in parts[::2]}
    if len(parts) < 3 or tags != {"insert", "delete"} or parts[1][0] != "equal":
        return False
    return parts[1][2] - parts[1][1] <= MOST_CHANGED_WORDS


def _are_few(words: Sequence[str]) -> bool:
    """Whether they are a word or a few, and none a number, which may be said in many ways."""
    return 0 < len(words) <= MOST_MOVED and not any(wording.is_number(word) for word in words if word != "and")


def are_telling(words: Iterable[str]) -> bool:
    """Whether one of them is no small word."""
    return any(_matters((word,)) for word in words)


def _asked_for(change: Change, least_sure: float) -> float:
    if not _matters(change.script):
        return WELL_HEARD_SMALL
    return max(least_sure, WELL_HEARD) if is_guessed(change) else least_sure


def _is_another_way(line: Line, change: Change) -> bool:
    """Whether what was heard for a number, a date, a unit or a short form says the same, or, for a number, is none at
    all: then it is a way of saying it that is not known here."""
    if change.is_one_for_one and _is_short_for(change.script[0], change.heard[0]):
        return True
    if change.heard[0] == DOUBLE and _are_twins(line.spoken[change.first :][:2]):
        return True
    if _meets_ways(line, change):
        return _is_known_way(line, change) or not all(map(wording.is_number, change.heard))
    return False


def _are_twins(words: Sequence[str]) -> bool:
    """Whether they are one number twice."""
    return len(words) == 2 and words[0] == words[1] and wording.is_number(words[0])


def _is_known_way(line: Line, change: Change) -> bool:
    """Whether the line with the change is the line with one number or short form said in another of its ways."""
    told = change.in_line(line.spoken)
    return any(
        told == (*line.spoken[:first], *way, *line.spoken[upto:])
        for first, upto, ways in _met_ways(line, change)
        for way in ways
    )


def _meets_ways(line: Line, change: Change) -> bool:
    """Whether the change is in or beside what may be said in several ways, with a word more or less."""
    return next(_met_ways(line, change), None) is not None


def _met_ways(line: Line, change: Change) -> Iterator[tuple[int, int, Sequence[tuple[str, ...]]]]:
    """Of the tokens in the change that may be said in other ways: their first word, the one behind, and the ways."""
    return ((first, upto, token.ways) for first, upto, token in met_tokens(line, change) if token.ways)


def met_tokens(line: Line, change: Change) -> Iterator[tuple[int, int, Token]]:
    """The tokens in the change: their first word, and the one behind."""
    upto = 0
    for token in line.tokens:
        first, upto = upto, upto + len(token.spoken)
        if first <= change.last and change.first < upto:
            yield first, upto, token


def _is_short_for(written: str, heard: str) -> bool:
    """Whether what is no word, or has no vowel, has the other's letters in their order, as a short form has: "qty" for
    "quantity", "s" for "seconds"."""
    left = iter(heard)
    longer = written[:1] == heard[:1] and len(written) + 1 < len(heard)
    no_word = not wording.in_dictionary(written) or VOWELS.isdisjoint(written)
    return longer and no_word and all(letter in left for letter in written)


def _are_apart(change: Change) -> bool:
    apart = wording.sounds_apart(change.script, change.heard)
    return apart >= LEAST_APART and wording.row_likeness(change.script, change.heard) <= MOST_ALIKE


def _is_part(change: Change) -> bool:
    """Whether it is the beginning or the end of the script's word that was heard: recognisers lose the rest."""
    if not change.is_one_for_one:
        return False
    word, heard = change.script[0], change.heard[0]
    return len(heard) >= LEAST_LETTERS and (word.startswith(heard) or word.endswith(heard))


def _takes_over(script: Sequence[str], change: Change) -> bool:
    """Whether the word heard begins in the end of the word before and goes on as the script's, give or take a sound:
    "and eat" heard as "and need"."""
    if not change.is_one_for_one or not change.first:
        return False
    return wording.takes_over(script[change.first - 1], *change.script, *change.heard)


def _are_two_words(change: Change, least_apart: int) -> bool:
    """Whether both are words of their own, though spelt alike: "Tuesday" and "Thursday"."""
    known = all(map(wording.in_dictionary, (*change.script, *change.heard)))
    return change.is_one_for_one and known and wording.sounds_apart(change.script, change.heard) >= least_apart


def _matters(words: Sequence[str]) -> bool:
    """Whether it is one word that recognisers do not lose or exchange; of "isn't" they lose the end."""
    return len(words) == 1 and not (is_function_word(words[0]) or words[0].endswith("n't"))


def is_guessed(change: Change) -> bool:
    """Whether the script's word is in no dictionary, a name perhaps: nobody can tell how she says it, unless another
    reading was heard so."""
    return not all(map(wording.in_dictionary, change.script))


def is_word_for_word(change: Change) -> bool:
    return _matters(change.script) and len(change.heard) == 1 and wording.sound_count(change.heard) > SHORT_WORD


def misread_too(ground: Ground, looks: Sequence[Candidate], heard: Sequence[HeardWord]) -> list[Candidate]:
    """Those looks at a whole line in which one part of it was clearly heard as other words, with those in its place."""
    of_line = {line: _misread(ground, line, heard) for line in {look.line for look in looks if ground.is_full(look)}}
    return [
        replace(look, misread=change)
        for look in looks
        if ground.is_full(look) and (change := of_line[look.line]) is not None
    ]


def _misread(ground: Ground, line: int, heard: Sequence[HeardWord]) -> Change | None:
    script = ground.spoken_words[line]
    right = len(set(_heard_as_script(script, said(heard))).intersection(script))
    changes = differences(ground.script.lines[line], heard, WELL_HEARD)
    change = _foremost([change for change, _ in changes])
    if change is None or right < max(LEAST_RIGHT, LEAST_RIGHT_SHARE * len(script)):
        return None
    before, end = heard[: -len(change.heard)], heard[-len(change.heard) :]
    if change.last + 1 == len(script) and before and ground.apart(before[-1], end[0]):
        return None  # the line broke off, and something else was said
    return None if change.in_line(script) in ground.spoken_words else change


def _foremost(changes: Sequence[Change]) -> Change | None:
    """The one that is a misreading while the others may be mishearings; None where there are more such, or none."""
    far = [change for change in changes if wording.sounds_apart(change.script, change.heard) > LEAST_APART]
    return far[0] if len(far) == 1 else changes[0] if len(changes) == 1 else None


def _heard_as_script(script: Sequence[str], heard: Sequence[str]) -> list[str]:
    """Each heard word in the script's spelling where the script has one like it."""
    if not script or not heard:
        return list(heard)
    table = wording.likeness_table(heard, script)
    nearest = table.argmax(axis=1)
    return [script[nearest[at]] if table[at, nearest[at]] >= SAME_WORD else word for at, word in enumerate(heard)]
