"""Sounds held for demonstration ("vvvv") that belong to an explanation: talk that the lesson keeps."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from lessoncut.hearing.records import Sound
from lessoncut.matching.records import Aside, Match

BESIDE_MS = 5000
"""A demonstration stands this close to the words that announce it or talk about it."""
LEAST_MS = 300
"""Less than this is a remnant of a sound that speech runs into."""


def with_held(match: Match, sounds: Sequence[Sound]) -> Match:
    """The match with its demonstrations among the asides."""
    held = [Aside(sound.span, (), held=True) for sound in sounds if demonstrates(sound, match)]
    asides = [*match.asides, *held]
    return replace(match, asides=tuple(sorted(asides, key=lambda aside: aside.span)))


def demonstrates(sound: Sound, match: Match) -> bool:
    """Whether it is a held sound of an explanation. Inside a pass, or far from all talk, it is none."""
    passes = (item.span for item in match.passes)
    if not sound.held or sound.span.length_ms < LEAST_MS or is_spoken_over(sound, match):
        return False
    if any(sound.span.overlap_ms(span) for span in passes):
        return False
    kept = [reading for reading in match.readings if reading.kept]
    nearest = min(kept, key=lambda reading: reading.span.gap_to_ms(sound.span), default=None)
    return nearest is not None and nearest.pass_id is None and nearest.span.gap_to_ms(sound.span) <= BESIDE_MS


def is_spoken_over(sound: Sound, match: Match) -> bool:
    """Whether it lies in what is said, as a vowel may that is held long."""
    spoken = [*(reading.span for reading in match.readings), *(aside.span for aside in match.asides)]
    return any(map(sound.span.overlap_ms, spoken))
