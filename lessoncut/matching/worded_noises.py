"""A cough, a knock or a laugh that was heard as a word, or taken for a start, be it surely: nothing of it fits the
sound, nor is it anybody's voice who speaks in the take."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace

from lessoncut.matching.attempts import Attempt, Unscripted
from lessoncut.matching.ground import Ground, said
from lessoncut.matching.speakers import voices_apart

MOST_WORDS, MOST_MS = 2, 1400
"""Nobody hears more than this in a noise, and none lasts longer."""
NOT_HERS, NOT_THEIRS = 1.3, 1.0
"""How far it is from the voice of her readings, the nearest of them, and from all other talk: who says one thing beside
the script does say another, or is her."""
LOWER = 14.0
"""How far below the usual score its words lie. In 141 lessons no talk was so, and four of the five noises that had been
told as talk."""


LOWER_START = 18.0
"""The same for a start, the last word of which may be broken off: of 386 only a remark lay lower in a voice so far from
hers."""


def without_starts_in_noises(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts in time order without the starts that are neither in her voice nor fit the sound; and the talk, in
    time order, with these."""
    full = [attempt for attempt in attempts if attempt.full]
    noises = [
        start
        for start in attempts
        if not start.full
        and start.score < ground.usual_score - LOWER_START
        and NOT_HERS <= _voice_apart(ground, start, full) < math.inf
    ]
    talk = [*left, *(Unscripted(start.span, start.heard) for start in noises)]
    return [each for each in attempts if each not in noises], sorted(talk, key=lambda each: each.span)


def without_words_in_noises(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> list[Unscripted]:
    """The talk, noises that were heard as words being without these."""
    hers = [attempt for attempt in attempts if attempt.full]
    likely = [
        talk
        for talk in left
        if talk.words
        and len(talk.words) <= MOST_WORDS
        and talk.span.length_ms <= MOST_MS
        and NOT_HERS <= _voice_apart(ground, talk, hers) < math.inf
        and _voice_apart(ground, talk, (other for other in left if other is not talk)) >= NOT_THEIRS
    ]
    laid = ground.align([ground.request_heard(said(talk.words), talk.span) for talk in likely]) if likely else ()
    noises = {
        talk
        for talk, found in zip(likely, laid, strict=True)
        if found.words and found.mean_score < ground.usual_score - LOWER
    }
    return [replace(talk, words=()) if talk in noises else talk for talk in left]


def _voice_apart(ground: Ground, talk: Attempt | Unscripted, others: Iterable[Attempt | Unscripted]) -> float:
    """How far its voice is from that of the nearest of the others; without end where nobody can tell of any."""
    distances = (voices_apart(talk.span, other.span, ground.voice_of) for other in others)
    return min((distance for distance in distances if distance is not None), default=math.inf)
