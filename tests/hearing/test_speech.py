from __future__ import annotations

import numpy as np
import pytest

from lessoncut.hearing.heights import heights, mask, runs
from lessoncut.hearing.held import SPECTRUM_SWING_DB, STEADY_SWING_DB, held_sounds, spectrum_swing_db
from lessoncut.take.measure import measure
from lessoncut.take.samples import RATE_HZ, Samples
from lessoncut.times import Span
from tests.hearing.signals import PHONES, ROOM_DB, Signal, published, room, speech_in, with_piece


def _reading(name: str) -> tuple[Signal, Span]:
    """A published reading and, from its labels, where its first phone begins and its last one ends."""
    phones = PHONES[name]["phones"]
    return published(name), Span(phones[0][1], phones[-1][2])


@pytest.mark.parametrize("name", ["arctic_a0007", "librivox_0870", "librivox_0930"])
def test_a_published_reading_is_found_whole_and_tight(name: str) -> None:
    """The labels of ``tests/teaching/published`` say where the reading's first and last phones lie."""
    reading, labelled = _reading(name)
    speech = speech_in(with_piece(room(len(reading) / RATE_HZ + 4, level_db=-50), 2.0, reading)).spans
    assert speech[0].start_ms == pytest.approx(2000 + labelled.start_ms, abs=80)
    assert speech[-1].end_ms == pytest.approx(2000 + labelled.end_ms, abs=200)


def test_a_pause_of_room_tone_parts_two_readings_and_a_shorter_one_does_not() -> None:
    reading, labelled = _reading("arctic_a0007")
    spoken = reading[labelled.start_ms * 16 : labelled.end_ms * 16]
    for pause_s, parted in ((0.6, True), (0.1, False)):
        second_s = 1.0 + len(spoken) / RATE_HZ + pause_s
        signal = with_piece(with_piece(room(second_s + len(spoken) / RATE_HZ + 1), 1.0, spoken), second_s, spoken)
        speech = speech_in(signal).spans
        crossing = [s for s in speech if s.contains(round((second_s - pause_s / 2) * 1000))]
        assert bool(crossing) is not parted


def test_a_quiet_aside_is_speech_too() -> None:
    reading, _ = _reading("arctic_a0007")
    length_s = len(reading) / RATE_HZ
    signal = with_piece(with_piece(room(2 * length_s + 3), 1.0, reading), length_s + 2, reading * 10 ** (-20 / 20))
    aside = Span(round((length_s + 2) * 1000), round((2 * length_s + 2) * 1000))
    assert sum(span.overlap_ms(aside) for span in speech_in(signal).spans) > 0.7 * aside.length_ms


def test_a_knock_is_a_sound_and_no_speech() -> None:
    at = np.arange(round(0.12 * RATE_HZ)) / RATE_HZ
    knock = 0.2 * np.sin(2 * np.pi * 220 * at) * np.exp(-at * 40)
    heard = speech_in(with_piece(room(6), 3.0, knock))
    assert heard.spans == ()
    assert [sound.held for sound in heard.sounds] == [False]
    assert heard.sounds[0].span.start_ms == pytest.approx(3000, abs=30)
    assert heard.floor_db == pytest.approx(ROOM_DB, abs=2)


def test_a_click_is_nothing() -> None:
    click = np.full(30, 0.2)
    heard = speech_in(with_piece(room(4), 2.0, click))
    assert heard.spans == ()
    assert heard.sounds == ()


def _hum(seconds: float, hz: float = 180.0) -> Signal:
    at = np.arange(round(seconds * RATE_HZ)) / RATE_HZ
    shape = np.minimum(1, np.minimum(at, at[::-1]) / 0.06)
    return np.asarray(0.05 * shape * sum(np.sin(2 * np.pi * hz * k * at) / k for k in range(1, 12)))


@pytest.mark.parametrize("length_s", [0.75, 1.5])
def test_a_sound_held_for_demonstration_is_neither_speech_nor_stray(length_s: float) -> None:
    heard = speech_in(with_piece(room(5), 2.0, _hum(length_s)))
    assert heard.spans == ()
    assert [sound.held for sound in heard.sounds] == [True]
    assert heard.sounds[0].span.intersection_over_union(Span(2000, 2000 + round(length_s * 1000))) > 0.75


@pytest.mark.parametrize("falls_db", [10.0, 14.0])
def test_a_held_sound_may_fade_as_the_breath_runs_out(falls_db: float) -> None:
    hum = _hum(2.4)
    fading = hum * 10 ** (-falls_db / 20 * np.arange(len(hum)) / len(hum))
    heard = speech_in(with_piece(room(5), 2.0, fading))
    assert heard.spans == ()
    assert [sound.held for sound in heard.sounds] == [True]
    steady, faded = ((each[2000:-2000] * 32768).astype(np.int16) for each in (hum, fading))
    assert spectrum_swing_db(faded) > SPECTRUM_SWING_DB
    assert spectrum_swing_db(faded, fading=True) == pytest.approx(spectrum_swing_db(steady), abs=0.5)


def _wavering(level_db: float) -> Signal:
    """A hum whose colour comes and goes twice, and its level by so much, up and down five times a second."""
    at = np.arange(2 * RATE_HZ) / RATE_HZ
    shape = np.minimum(1, np.minimum(at, at[::-1]) / 0.06)
    waves = np.sin(2 * np.pi * at)
    bands = [0] * 3 + [1] * 5 + [0] * 9 + [1] * 12
    parts = np.zeros(len(at))
    for k, band in enumerate(bands, start=1):
        parts += np.sin(2 * np.pi * 180 * k * at) / k * 10 ** ((4 if band else -4) * waves / 20)
    loud = np.sqrt(np.convolve(parts**2, np.ones(1600) / 1600, mode="same"))
    return np.asarray(0.03 * shape * parts / loud * 10 ** (level_db * np.sin(2 * np.pi * 5 * at) / 20))


@pytest.mark.parametrize(("level_db", "held"), [(0.0, [True]), (1.8, [])])
def test_a_long_sound_may_waver_in_its_colour_where_its_level_does_not(level_db: float, held: list[bool]) -> None:
    wavering = _wavering(level_db)
    assert (
        SPECTRUM_SWING_DB
        < spectrum_swing_db((wavering[2000:-2000] * 32768).astype(np.int16), fading=True)
        < STEADY_SWING_DB
    )
    heard = speech_in(with_piece(room(5), 2.0, wavering))
    assert [sound.held for sound in heard.sounds if sound.held] == held


@pytest.mark.parametrize(("pause_ms", "held"), [(220, [True]), (100, [])])
def test_a_sound_held_right_before_a_line_is_held_where_a_pause_parts_them(pause_ms: int, held: list[bool]) -> None:
    reading, labelled = _reading("librivox_0930")
    hum = _hum(0.64)
    hum *= np.abs(reading).max() / np.abs(hum).max()
    begins_s = 2.0 + 0.64 + pause_ms / 1000 - labelled.start_ms / 1000
    signal = with_piece(with_piece(room(len(reading) / RATE_HZ + 5), begins_s, reading), 2.0, hum)
    assert [sound.held for sound in speech_in(signal).sounds if sound.held] == held


def test_speech_is_not_held() -> None:
    for name in ("arctic_a0007", "librivox_0870", "librivox_0930"):
        reading, _ = _reading(name)
        for room_db in (ROOM_DB, -110.0):
            heard = speech_in(with_piece(room(len(reading) / RATE_HZ + 2, level_db=room_db), 1.0, reading))
            assert not [sound for sound in heard.sounds if sound.held]


def test_spectrum_swing_is_small_for_one_vowel_and_large_for_many() -> None:
    steady = (_hum(1.0) * 32768).astype(np.int16)
    reading = (_reading("librivox_0930")[0] * 32768).astype(np.int16)
    assert spectrum_swing_db(steady[2000:-2000]) < 1.0
    assert spectrum_swing_db(reading[RATE_HZ : 2 * RATE_HZ]) > 4.0


def test_the_floor_follows_a_room_that_gets_louder() -> None:
    reading, labelled = _reading("arctic_a0007")
    loud = room(12, 2, ROOM_DB + 12)
    signal = np.concatenate((room(40), with_piece(loud, 5.0, reading), room(40, 3, ROOM_DB + 12)))
    speech = speech_in(signal).spans
    assert speech
    assert speech[0].start_ms == pytest.approx(45000 + labelled.start_ms, abs=80)


def test_the_floor_follows_a_room_that_is_louder_only_between_lines_close_together() -> None:
    """A fan runs while she reads line after line, and is off before and after: the pauses are no sounds."""
    reading, labelled = _reading("arctic_a0007")
    spoken = reading[labelled.start_ms * 16 : labelled.end_ms * 16]
    gap = np.zeros(round(0.55 * RATE_HZ))
    lines = np.concatenate([*(part for _ in range(3) for part in (spoken, gap)), spoken])
    fan = room(len(lines) / RATE_HZ, 7, ROOM_DB + 14)[: len(lines)]
    heard = speech_in(np.concatenate((room(15), lines + fan, room(15, 3))))
    assert heard.sounds == ()
    assert len(heard.spans) == 4


def test_a_rustle_far_below_speech_is_nothing() -> None:
    """In a take whose pauses are near digital silence any rustle stands out."""
    reading, _ = _reading("arctic_a0007")
    silence = room(8, level_db=-100.0)
    for under_db, found in ((10, True), (45, False)):
        rustle = np.random.default_rng(5).normal(0, 0.05 * 10 ** (-under_db / 20), RATE_HZ // 5)
        heard = speech_in(with_piece(with_piece(silence, 1.0, reading), 7.0, rustle))
        assert any(sound.span.start_ms > 6800 for sound in heard.sounds) is found


def test_no_sound_at_all() -> None:
    assert speech_in(np.zeros(0)).spans == ()
    assert speech_in(np.zeros(RATE_HZ)).spans == ()
    assert speech_in(np.zeros(RATE_HZ)).sounds == ()


def test_runs_and_masks_are_each_other_s_inverse() -> None:
    where = np.random.default_rng(3).random(500) < 0.4
    np.testing.assert_array_equal(mask(runs(where), len(where)), where)


def test_held_sounds_of_an_empty_take() -> None:
    samples: Samples = np.zeros(RATE_HZ, np.int16)
    assert held_sounds(samples, heights(measure(samples), np.ones(100, bool), np.ones(100, bool))) == ()
