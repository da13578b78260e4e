"""Laughter in which words were heard."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lessoncut.hearing.records import Sound
from lessoncut.hearing.told import told
from lessoncut.matching.laughs import LEAST_MS, without_laughter
from lessoncut.times import Span
from tests.matching.scripts import script

HEARD = told("""
    1.0  the ferry leaves at seven  2.5
    4.0  hands up                   5.0
    6.0  hands up for both          7.5
    8.0  (a knock)                  8.3
""")
LAUGH = Sound(Span(4000, 5000 - LEAST_MS + 1), -30.0, laughter=True)


def test_words_and_speech_in_a_laugh_are_none() -> None:
    found = without_laughter(script("The ferry leaves at seven.\nHands up for both."), replace(HEARD, laughs=(LAUGH,)))
    assert " ".join(word.text for word in found.words) == "the ferry leaves at seven hands up for both"
    assert found.speech == (HEARD.speech[0], HEARD.speech[2])
    assert found.sounds == (LAUGH, *HEARD.sounds)


def test_speech_beside_a_laugh_stays_and_a_sound_in_it_goes() -> None:
    shorter = replace(LAUGH, span=Span(4000, 5000 - LEAST_MS))
    knocked = replace(HEARD, laughs=(shorter, Sound(Span(8100, 8900), -30.0, laughter=True)))
    found = without_laughter(script("Hands up for both."), knocked)
    assert Span(5000 - LEAST_MS, 5000) in found.speech
    assert found.sounds == knocked.laughs


@pytest.mark.parametrize(
    ("line", "stays"),
    [
        ("No, no, no, no!", True),
        ("Pa, pa, pa: a puff each time.", True),
        ("There, their, they're.", True),  # one word by its sound
        ("No, no, yes, no.", False),
        ("If it is, it is.", False),
    ],
)
def test_a_script_that_says_one_word_over_and_over_may_be_read_so(line: str, stays: bool) -> None:
    laughing = replace(HEARD, laughs=(LAUGH,))
    assert (without_laughter(script(line), laughing) == laughing) is stays


def test_where_nobody_laughs_nothing_changes() -> None:
    assert without_laughter(script("Hands up for both."), HEARD) is HEARD
