"""A breath before a reading, and what is none: against published readings and their labels."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import butter, sosfilt

from lessoncut.hearing.speech import Speech
from lessoncut.take.samples import RATE_HZ
from lessoncut.times import Span
from tests.hearing.signals import PHONES, Signal, published, room, speech_in, with_piece

AT_MS = 1500
SPEECH_DB = -25.0


def _noise(band_hz: tuple[float, float], ms: int, level_db: float) -> Signal:
    rng = np.random.default_rng(5)
    band = sosfilt(butter(4, band_hz, "band", fs=RATE_HZ, output="sos"), rng.standard_normal(ms * RATE_HZ // 1000))
    swell = np.sin(np.linspace(0, np.pi, len(band))) ** 0.5
    return np.asarray(band / band.std() * swell * 10 ** (level_db / 20))


def _before_a_reading(piece: Signal, hole_ms: int, learners: int = 0) -> tuple[Speech, Span, int]:
    """What is heard, where the piece lies, and where the reading's first phone begins. So many learners say it after
    her, 12 dB fainter."""
    name = "arctic_a0007"
    reading, first_ms = published(name), PHONES[name]["phones"][0][1]
    spoken = reading[first_ms * RATE_HZ // 1000 :]
    spoken = spoken / np.sqrt(np.mean(spoken**2)) * 10 ** (SPEECH_DB / 20)
    piece_ms = len(piece) * 1000 // RATE_HZ
    starts_ms = AT_MS + piece_ms + hole_ms
    spoken_s = len(spoken) / RATE_HZ + 1
    quiet = room(starts_ms / 1000 + 1 + spoken_s * (learners + 1), level_db=-65)
    signal = with_piece(with_piece(quiet, AT_MS / 1000, piece), starts_ms / 1000, spoken)
    for learner in range(1, learners + 1):
        signal = with_piece(signal, starts_ms / 1000 + learner * spoken_s, spoken * 10 ** (-12 / 20))
    return speech_in(signal), Span(AT_MS, AT_MS + piece_ms), starts_ms


AIR = (600.0, 5000.0)


@pytest.mark.parametrize("hole_ms", [60, 120])
@pytest.mark.parametrize("level_db", [SPEECH_DB - 26, SPEECH_DB - 18])
def test_air_drawn_in_before_a_reading_is_a_breath_and_no_speech(hole_ms: int, level_db: float) -> None:
    found, drawn, starts_ms = _before_a_reading(_noise(AIR, 300, level_db), hole_ms)
    [breath] = found.breaths
    assert breath.start_ms == pytest.approx(drawn.start_ms, abs=60)
    assert breath.end_ms == pytest.approx(drawn.end_ms, abs=60)
    assert found.spans[0].start_ms == pytest.approx(starts_ms, abs=60)
    assert not any(sound.span.overlap_ms(drawn) for sound in found.sounds)


def test_fainter_learners_make_no_sound_of_her_breath() -> None:
    for learners in (0, 3):
        found, drawn, _ = _before_a_reading(_noise(AIR, 300, SPEECH_DB - 14), 60, learners)
        [breath] = found.breaths
        assert breath.overlap_ms(drawn) > 200
        assert not any(sound.span.overlap_ms(drawn) for sound in found.sounds)


@pytest.mark.parametrize(
    ("band_hz", "ms", "level_db", "hole_ms", "why"),
    [
        ((5800.0, 7800.0), 200, -43.0, 60, "a hiss, as of an s"),
        ((120.0, 350.0), 200, -43.0, 60, "a hum, as of a voiced closure"),
        (AIR, 300, -30.0, 60, "too loud"),
        (AIR, 1200, -43.0, 60, "too long"),
        (AIR, 300, -43.0, 900, "nothing is said after it"),
        (AIR, 300, -43.0, 0, "the line goes on from it"),
    ],
)
def test_what_is_no_breath(band_hz: tuple[float, float], ms: int, level_db: float, hole_ms: int, why: str) -> None:
    found, _, _ = _before_a_reading(_noise(band_hz, ms, level_db), hole_ms)
    assert found.breaths == (), why


@pytest.mark.parametrize("name", sorted(PHONES))
def test_no_labelled_phone_of_a_published_reading_is_taken_for_a_breath(name: str) -> None:
    """The labels of ``tests/teaching/published``, whose edges lie on a grid of 10 ms."""
    reading = published(name)
    signal = with_piece(room(len(reading) / RATE_HZ + 2, seed=2, level_db=-62), 1.0, reading)
    for breath in speech_in(signal).breaths:
        for phone, start_ms, end_ms, _ in PHONES[name]["phones"]:
            said = Span(start_ms + 1000, end_ms + 1000)
            assert said.overlap_ms(breath) <= 20, (phone, said, breath)
