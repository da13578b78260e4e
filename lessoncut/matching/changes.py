"""Where a reading's words differ from the script's, and whether the sound takes the heard side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from difflib import SequenceMatcher

from lessoncut import wording
from lessoncut.hearing.records import Alignment, AlignmentRequest
from lessoncut.matching.attempts import Attempt
from lessoncut.matching.ground import Ground, said
from lessoncut.matching.records import Change

CHANGE_SUPPORT = 12.0
"""How much better, in log score a frame, the sound must fit the heard words than the script's."""
SAME_WORD = 0.8
"""Likeness from which two spellings are taken for one word."""
MOST_CHANGED_WORDS = 2
LEAST_CHANGE_MS = 140
"""A shorter stretch (an article, mostly) has too few frames for the sound to decide."""
SURELY_HEARD = 0.8
CLEARLY_ANOTHER = 0.55
"""Likeness up to which two rows of words are clearly not one, misspelt."""


def differences(script: Sequence[str], heard: Sequence[str], sure: Sequence[float]) -> tuple[Change, ...]:
    """Short replacements of script words by clearly other words; ``support`` is not known yet (0).

    ``sure`` is the recogniser's probability of each heard word. Words left out or put in are not among them, nor
    words of which it was unsure: a recogniser loses and invents small words too often.
    """
    named = _heard_as_script(script, heard)
    found = []
    for tag, first, upto, heard_first, heard_upto in SequenceMatcher(None, script, named, autojunk=False).get_opcodes():
        short = max(upto - first, heard_upto - heard_first) <= MOST_CHANGED_WORDS
        if tag != "replace" or not short or min(sure[heard_first:heard_upto]) < SURELY_HEARD:
            continue
        if wording.row_likeness(script[first:upto], heard[heard_first:heard_upto]) <= CLEARLY_ANOTHER:
            found.append(Change(first, upto - 1, tuple(script[first:upto]), tuple(heard[heard_first:heard_upto]), 0.0))
    return tuple(found)


def _heard_as_script(script: Sequence[str], heard: Sequence[str]) -> list[str]:
    """Each heard word in the script's spelling where the script has one like it."""
    if not script or not heard:
        return list(heard)
    table = wording.likeness_table(heard, script)
    nearest = table.argmax(axis=1)
    return [script[nearest[at]] if table[at, nearest[at]] >= SAME_WORD else word for at, word in enumerate(heard)]


def with_change(script: Sequence[str], change: Change) -> tuple[str, ...]:
    """The line as it would be if that change were true."""
    return (*script[: change.first], *change.heard, *script[change.last + 1 :])


def supported(change: Change, as_script: Alignment, as_heard: Alignment) -> Change:
    """The change with the sound's word on it: the score of the changed stretch, heard minus script."""
    script_side = _mean_score(as_script, change.first, change.last + 1)
    if sum(word.span.length_ms for word in as_script.words[change.first : change.last + 1]) < LEAST_CHANGE_MS:
        return change
    heard_side = _mean_score(as_heard, change.first, change.first + len(change.heard))
    return Change(change.first, change.last, change.script, change.heard, heard_side - script_side)


def _mean_score(alignment: Alignment, first: int, upto: int) -> float:
    words = alignment.words[first:upto]
    length_ms = sum(word.span.length_ms for word in words)
    if not length_ms:
        return -200.0
    return sum(word.score * word.span.length_ms for word in words) / length_ms


def with_changes(ground: Ground, attempts: Sequence[Attempt]) -> tuple[Attempt, ...]:
    """Each full reading with the words that the sound, too, says were changed."""
    asked: list[AlignmentRequest] = []
    differing: list[tuple[int, tuple[Change, ...]]] = []
    for at, attempt in enumerate(attempts):
        if not (attempt.full and attempt.heard and attempt.laid):
            continue
        script_words = ground.spoken_words[attempt.line]
        heard = [(spoken, word.probability) for word in attempt.heard for spoken in said([word])]
        changes = differences(script_words, [spoken for spoken, _ in heard], [sure for _, sure in heard])
        if not changes:
            continue
        differing.append((at, changes))
        for words in (script_words, *(with_change(script_words, change) for change in changes)):
            asked.append(ground.request(attempt.line, words, attempt.span))
    answers = iter(ground.align(asked) if asked else ())
    changed = list(attempts)
    for at, changes in differing:
        as_script = next(answers)
        believed = [supported(change, as_script, next(answers)) for change in changes]
        changed[at] = replace(attempts[at], changes=tuple(c for c in believed if c.support >= CHANGE_SUPPORT))
    return tuple(changed)
