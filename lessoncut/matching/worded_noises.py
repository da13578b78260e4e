"""A cough, a knock or a laugh that was heard as a word, or taken for a start, be it surely: nothing of it fits the
sound, nor is it anybody's voice who speaks in the take."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from lessoncut.matching.attempts import Attempt, Unscripted
from lessoncut.matching.differences import are_telling
from lessoncut.matching.ground import Ground, said
from lessoncut.matching.speakers import voice_apart_from_all
from lessoncut.matching.talk import parted
from lessoncut.times import Span

MOST_WORDS, MOST_MS = 2, 1400
"""Nobody hears more than this in a noise, and none lasts longer."""
NOT_HERS, NOT_THEIRS = 1.3, 1.0
"""How far it is from the voice of her readings, the nearest of them, and from all other talk: who says one thing beside
the script does say another, or is her."""
LOWER = 14.0
"""How far below the usual score its words lie. In 141 lessons no talk was so, and four of the five noises that had been
told as talk."""
LOWER_RUNNING_ON, INTO_SOUND_MS = 4.0, 30
"""The same for one small word that runs on into a sound without words."""
UNSURE, APART_MS = 0.5, 500
"""A word at either end of talk that is heard no more surely, and parted from it so far, is one by itself: of seven that
are parted in 175 lessons one is a cough, and the others are as sure as 0.68."""
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
        if not start.full and start.score < ground.usual_score - LOWER_START and _is_strange(ground, start.span, full)
    ]
    talk = [*left, *(Unscripted(start.span, start.heard) for start in noises)]
    return [each for each in attempts if each not in noises], sorted(talk, key=lambda each: each.span)


def without_words_in_noises(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> list[Unscripted]:
    """The talk, noises that were heard as words being without these."""
    hers = [attempt for attempt in attempts if attempt.full]
    left = [part for talk in left for part in _without_noise_beside(ground, talk, hers)]
    likely = [
        talk
        for talk in left
        if talk.words
        and len(talk.words) <= MOST_WORDS
        and talk.span.length_ms <= MOST_MS
        and _is_strange(ground, talk.span, hers)
        and _is_nobodys(ground, talk, left)
    ]
    laid = ground.align([ground.request_heard(said(talk.words), talk.span) for talk in likely]) if likely else ()
    noises = {
        talk
        for talk, found in zip(likely, laid, strict=True)
        if found.words and found.mean_score < ground.usual_score - _lower(ground, talk)
    }
    return [replace(talk, words=()) if talk in noises else talk for talk in left]


def _lower(ground: Ground, talk: Unscripted) -> float:
    small = len(talk.words) == 1 and not are_telling(said(talk.words))
    beside = (
        sound for sound in ground.hearing.sounds if not sound.held and talk.span.gap_to_ms(sound.span) < INTO_SOUND_MS
    )
    return LOWER_RUNNING_ON if small and any(beside) else LOWER


def _without_noise_beside(ground: Ground, talk: Unscripted, hers: Sequence[Attempt]) -> list[Unscripted]:
    """The talk, parted from the noise right before or behind it that was heard as a word."""
    ends = ((1, 0), (len(talk.words) - 1, 1)) if len(talk.words) > 1 else ()
    for at, side in ends:
        parts = list(parted(ground, talk, at))
        if _is_noise_beside(ground, talk, parts[side], hers):
            parts[side] = replace(parts[side], words=())
            return parts
    return [talk]


def _is_noise_beside(ground: Ground, talk: Unscripted, end: Unscripted, hers: Sequence[Attempt]) -> bool:
    """Whether the one word before, or behind, a pause in the talk is so unsure, and in nobody's voice."""
    beside = (hole.length_ms for hole in ground.holes(talk.span) if hole.gap_to_ms(end.span) == 0)
    unsure = end.words[0].probability < UNSURE
    return unsure and any(length_ms >= APART_MS for length_ms in beside) and _is_strange(ground, end.span, hers)


def _is_strange(ground: Ground, sound: Span, readings: Sequence[Attempt]) -> bool:
    """Whether it is long enough to tell that it is far from her voice."""
    apart = voice_apart_from_all(sound, (reading.span for reading in readings), ground.voice_of)
    return apart is not None and apart >= NOT_HERS


def _is_nobodys(ground: Ground, talk: Unscripted, left: Sequence[Unscripted]) -> bool:
    """Whether no other talk is near its voice."""
    apart = voice_apart_from_all(talk.span, (other.span for other in left if other is not talk), ground.voice_of)
    return apart is None or apart >= NOT_THEIRS
