"""How far two voices are from each other by colour and by pitch."""

from __future__ import annotations

import numpy as np
import pytest

from lessoncut.hearing.timbre import CLEAR_FROM, CLEAR_TO, MOST_WORTH, WORTH_FURTHER, WORTH_NEARER, Timbre
from lessoncut.take.samples import RATE_HZ, Samples


def buzz(hz: float) -> Samples:
    """Half a second of a voice's pulses."""
    at = np.arange(RATE_HZ // 2) / RATE_HZ
    wave = sum(np.sin(2 * np.pi * hz * n * at) / n for n in range(1, 12))
    return (3000 * np.asarray(wave)).astype(np.int16)


def voice(place: float, hz: float | None) -> Timbre:
    return Timbre((place,) * 15, None if hz is None else buzz(hz))


def semitones(count: float) -> float:
    return float(120.0 * 2 ** (count / 12))


def test_the_pitch_is_that_of_the_pulses() -> None:
    assert voice(0, 120.0).pitch_hz == pytest.approx(120, rel=0.01)


@pytest.mark.parametrize(
    ("apart", "more"), [(0, -WORTH_NEARER), (3, 2 * WORTH_FURTHER), (-3, 2 * WORTH_FURTHER), (12, MOST_WORTH)]
)
def test_the_pitch_tells_voices_whose_colour_leaves_it_open(apart: float, more: float) -> None:
    middle = (CLEAR_FROM + CLEAR_TO) / 2
    one, two = voice(0, semitones(0)), voice(middle, semitones(apart))
    assert one.distance(two) == pytest.approx(middle)
    assert one.apart(two) == pytest.approx(middle + more, abs=0.02)
    assert one.apart(two) == pytest.approx(two.apart(one))


@pytest.mark.parametrize("clear", [CLEAR_FROM / 2, CLEAR_TO * 2])
def test_where_the_colour_is_clear_the_pitch_says_nothing(clear: float) -> None:
    assert voice(0, semitones(0)).apart(voice(clear, semitones(12))) == pytest.approx(clear)


def test_without_a_pitch_the_colour_decides() -> None:
    middle = (CLEAR_FROM + CLEAR_TO) / 2
    noise = Timbre((middle,) * 15, np.zeros(RATE_HZ, np.int16))
    assert noise.pitch_hz is None
    assert voice(0, 120.0).apart(noise) == voice(0, None).apart(voice(middle, 120.0)) == pytest.approx(middle)
