"""Settle what each piece of the take is, by its words and by its sound.

For every stretch of speech there are hypotheses: a line in full, a line broken off after so many words, or talk
outside the script. Four witnesses speak for or against each: how well the sound fits its words, how like the heard
words are to them, whether it lasts as long as these words take, and whether it leaves speech unexplained. None is
trusted alone: a recogniser mishears, an aligner accepts what is alike, and both are wrong in different places.
"""

from __future__ import annotations

from dataclasses import replace

from lessoncut.hearing.records import Hearing
from lessoncut.matching.attempts import Settled, Unscripted, without_overlap
from lessoncut.matching.changes import with_changes
from lessoncut.matching.ground import Ground
from lessoncut.matching.lay import Ask
from lessoncut.matching.lines import lay_lines, pace
from lessoncut.matching.pieces import pieces_of
from lessoncut.matching.unknown import name_unknown, unknown_speech
from lessoncut.script.records import Script

MOST_ROUNDS = 3


def settle(script: Script, hearing: Hearing, ask: Ask) -> Settled:
    """What each stretch of speech in the take is."""
    pieces = pieces_of(script, hearing)
    ground = Ground(script, hearing, ask)
    ground = replace(ground, syllable_ms=pace(ground, pieces))
    ground, attempts = lay_lines(ground, pieces)
    left: list[Unscripted] = []
    for _ in range(MOST_ROUNDS):
        found, left = name_unknown(ground, unknown_speech(ground, pieces, attempts), attempts)
        # What was found narrows down what may stand beside it.
        attempts = list(without_overlap(sorted([*attempts, *found], key=lambda attempt: attempt.span)))
        if not found:
            break
    return Settled(with_changes(ground, attempts), tuple(left))
