"""Sounds held for demonstration ("vvvv") that belong to an explanation: talk that the lesson keeps."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from lessoncut.hearing.records import Sound
from lessoncut.matching.records import Aside, Match
from lessoncut.times import Span

BESIDE_MS = 5000
"""A demonstration stands this close to the words that announce it or talk about it."""
LEAST_MS = 300
"""Less than this is a remnant of a sound that speech runs into."""


def with_held(match: Match, sounds: Sequence[Sound]) -> Match:
    """The match with its demonstrations among the asides. Inside a pass, or far from all talk, a sound is none."""
    held = [sound.span for sound in sounds if sound.held and _demonstrates(sound.span, match)]
    asides = [*match.asides, *(Aside(span, (), held=True) for span in held)]
    return replace(match, asides=tuple(sorted(asides, key=lambda aside: aside.span)))


def _demonstrates(sound: Span, match: Match) -> bool:
    passes, readings = (item.span for item in match.passes), (item.span for item in match.readings)
    spoken = [*passes, *readings, *(item.span for item in match.asides)]
    if sound.length_ms < LEAST_MS or any(sound.overlap_ms(span) for span in spoken):
        return False
    kept = [reading for reading in match.readings if reading.kept]
    nearest = min(kept, key=lambda reading: reading.span.gap_to_ms(sound), default=None)
    return nearest is not None and nearest.pass_id is None and nearest.span.gap_to_ms(sound) <= BESIDE_MS
