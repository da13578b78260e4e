"""One noise is one sound, though a part of it looked like speech."""

from __future__ import annotations

from collections.abc import Sequence
from typing import cast

import numpy as np
import pytest

from lessoncut.hearing import hear
from lessoncut.hearing.hear import LEAST_READ, LOUD_VOICE_DB, noises, unmarked
from lessoncut.hearing.listen import UNSURE, Heard, Listener
from lessoncut.hearing.records import HeardWord, Sound
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


SHORT, LONG = Sound(Span(1000, 1600), -20.0), Sound(Span(3000, 4500), -30.0)
SPEECH_DB = SHORT.peak_db - LOUD_VOICE_DB


class Told:
    """A listener to which each stretch says one word."""

    def __init__(self, probability: float) -> None:
        self.probability = probability

    def words(self, spans: Sequence[Span]) -> Heard:
        return tuple(HeardWord("seven thirty, then", span, self.probability) for span in spans)


def believed(
    probability: float, *, speech_db: float = SPEECH_DB, sounds: Sequence[Sound] = (SHORT, LONG)
) -> list[Span]:
    spans, words = unmarked(cast("Listener", Told(probability)), np.zeros(1, np.int16), sounds, speech_db)
    assert [word.span for word in words] == spans
    return spans


def test_loud_sounds_like_a_voice_are_speech_where_a_word_is_heard_in_them(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(hear, "may_be_voice", lambda *_: True)
    assert believed(LEAST_READ) == [SHORT.span]
    assert believed(UNSURE) == [SHORT.span, LONG.span]
    assert believed(LEAST_READ - 0.01) == []
    assert believed(UNSURE, speech_db=SPEECH_DB + 1) == [LONG.span]
    assert believed(UNSURE, sounds=[Sound(SHORT.span, -10.0, held=True)]) == []


def test_sounds_unlike_a_voice_are_not_listened_to(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(hear, "may_be_voice", lambda *_: False)
    assert believed(UNSURE) == [LONG.span]
