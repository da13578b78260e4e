"""Laughter is no speech, whatever a recogniser makes of it, unless the script has something said that often."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from lessoncut import wording
from lessoncut.hearing.records import Hearing
from lessoncut.script.records import Script
from lessoncut.times import Span, without

OFTEN = 3
"""A word said so many times in a row may sound as laughter does: "pa, pa, pa"."""
LEAST_MS = 60
"""Less speech beside a laugh is part of it."""


def without_laughter(script: Script, hearing: Hearing) -> Hearing:
    """The hearing without speech and words where somebody laughs; these are sounds. As it was, where one may also be
    said by the script."""
    laughs = [sound.span for sound in hearing.laughs]
    if not laughs or any(_says_often(line.spoken) for line in script.lines):
        return hearing
    speech = [part for span in hearing.speech for part in without(span, laughs) if part.length_ms >= LEAST_MS]
    others = [sound for sound in hearing.sounds if not any(sound.span.overlap_ms(laugh) for laugh in laughs)]
    return replace(
        hearing,
        speech=tuple(speech),
        words=tuple(word for word in hearing.words if not _is_in(word.span, laughs)),
        sounds=tuple(sorted([*others, *hearing.laughs], key=lambda sound: sound.span)),
    )


def _says_often(words: Sequence[str]) -> bool:
    rows = (words[at : at + OFTEN] for at in range(len(words) - OFTEN + 1))
    return any(all(wording.likeness(row[0], word) == 1 for word in row[1:]) for row in rows)


def _is_in(word: Span, laughs: Sequence[Span]) -> bool:
    return any(laugh.contains(word.middle_ms) for laugh in laughs)
