"""One noise is one sound, though a part of it looked like speech."""

from __future__ import annotations

from lessoncut.hearing.hear import noises
from lessoncut.hearing.records import Sound
from lessoncut.times import Span


def test_the_pieces_of_a_cough_are_one_sound() -> None:
    """As measured in the sample lesson: the middle looked like speech, and its words were not believed."""
    pieces = [(53_040, 53_570, -17.9), (52_900, 53_040, -18.7), (53_590, 53_820, -19.0)]
    cough = [Sound(Span(start_ms, end_ms), peak_db) for start_ms, end_ms, peak_db in pieces]
    assert noises(cough) == [Sound(Span(52_900, 53_820), -17.9)]


def test_what_is_apart_or_held_stays_by_itself() -> None:
    sounds = [
        Sound(Span(0, 300), -20.0),
        Sound(Span(400, 600), -25.0),
        Sound(Span(600, 1600), -22.0, held=True),
        Sound(Span(1610, 1700), -30.0),
    ]
    assert noises(sounds) == sounds
