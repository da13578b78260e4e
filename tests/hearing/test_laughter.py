"""Laughter, made of notes as the literature describes them, against published readings and what is as even."""

from __future__ import annotations

import numpy as np
import pytest

from lessoncut.hearing.laughter import _STEP, laughter
from lessoncut.hearing.mel import HOP
from lessoncut.hearing.speech import told_apart
from lessoncut.hearing.voice import WINDOW
from lessoncut.take.measure import measure
from lessoncut.take.samples import PER_MS, RATE_HZ, Samples
from lessoncut.times import Span
from tests.hearing.signals import PHONES, Signal, published, room, with_piece

OPEN, CLOSE = (720.0, 1250.0, 2600.0), (300.0, 2300.0, 3000.0)
"""Formants in Hz of an open and a close vowel, rounded (from memory, after Peterson and Barney 1952)."""


def _note(length_s: float, formants_hz: tuple[float, ...], pitch_hz: float) -> Signal:
    """A vowel that swells and fades, of harmonics under the formants."""
    at = np.arange(round(length_s * RATE_HZ)) / RATE_HZ
    note = np.zeros(len(at))
    for hz in np.arange(pitch_hz, 4000, pitch_hz):
        weight = sum(1 / (1 + ((hz - formant) / 80) ** 2) for formant in formants_hz)
        note += weight * np.sin(2 * np.pi * hz * at)
    return np.asarray(note / np.abs(note).max() * 0.2 * np.sin(np.pi * at / length_s), dtype=np.float64)


def _row(count: int, period_s: float, jitter: float = 0.0, vowels: tuple[tuple[float, ...], ...] = (OPEN,)) -> Signal:
    """Notes of 0.11 s, each a little lower and softer, at even times but for the jitter, a share of the period."""
    rng = np.random.default_rng(3)
    row = np.zeros(round((count + 1) * period_s * RATE_HZ))
    for step in range(count):
        note = _note(0.11, vowels[step % len(vowels)], 220 * 0.96**step) * 0.9**step
        at = round((step + jitter * rng.uniform(-0.5, 0.5)) * period_s * RATE_HZ) if step else 0
        row[at : at + len(note)] += note
    return row


@pytest.mark.parametrize("period_s", [0.16, 0.19, 0.23])
@pytest.mark.parametrize("count", [5, 7])
def test_even_notes_of_one_colour_are_laughter(period_s: float, count: int) -> None:
    """Four to six notes a second (from memory, after Bachorowski, Smoski and Owren 2001)."""
    (laugh,) = laughter(_sound(with_piece(room(6), 2.0, _row(count, period_s))))
    assert laugh.start_ms == pytest.approx(2000, abs=200)
    assert laugh.end_ms == pytest.approx(2000 + 1000 * ((count - 1) * period_s + 0.11), abs=250)


@pytest.mark.parametrize(
    "row",
    [
        _row(7, 0.19, vowels=(OPEN, CLOSE)),
        _row(7, 0.19, jitter=0.9),
        _row(2, 0.19),
        _row(7, 0.34),
    ],
    ids=["two vowels in turn", "uneven", "two notes", "slow"],
)
def test_what_is_neither_even_nor_alike_is_none(row: Signal) -> None:
    assert laughter(_sound(with_piece(room(6), 2.0, row))) == ()


@pytest.mark.parametrize("name", sorted(PHONES))
def test_nobody_laughs_in_a_published_reading(name: str) -> None:
    """The readings of ``tests/teaching/published``: people, and not one of them laughs."""
    assert laughter(_sound(published(name))) == ()


def test_a_laugh_is_found_where_two_slices_of_a_long_take_meet() -> None:
    at_s = _STEP * HOP / RATE_HZ - 0.5
    (laugh,) = laughter(_sound(with_piece(room(at_s + 4), at_s, _row(6, 0.19))))
    assert laugh.start_ms == pytest.approx(1000 * at_s, abs=200)


@pytest.mark.parametrize("length", [0, 1, 400, 8000])
def test_a_take_too_short_to_laugh_in(length: int) -> None:
    assert laughter(np.zeros(length, np.int16)) == ()


@pytest.mark.parametrize("as_speech", [True, False])
def test_what_the_network_takes_for_speech_may_be_laughter_if_it_sounds_so(as_speech: bool) -> None:
    """The knocks at a door are as even, and no network takes them for speech."""
    samples = _sound(with_piece(room(8), 2.0, _row(6, 0.19)))
    probabilities = np.full(len(samples) // WINDOW, 0.01, np.float32)
    if as_speech:
        probabilities[2000 * PER_MS // WINDOW : 3100 * PER_MS // WINDOW] = 0.9
    heard = told_apart(samples, measure(samples), probabilities)
    assert bool(heard.spans) is as_speech  # the script tells whether it may be
    assert [sound.laughter for sound in heard.laughs] == [True] * as_speech
    assert not any(sound.may_be_speech for sound in heard.laughs)


def test_speech_right_behind_a_laugh_stays_speech() -> None:
    reading = published("arctic_a0007")
    first = PHONES["arctic_a0007"]["phones"][0][1]
    spoken = reading[first * PER_MS :]
    at_s = 2.0 + 6 * 0.19 + 0.1
    samples = _sound(with_piece(with_piece(room(at_s + 6), 2.0, _row(6, 0.19)), at_s, spoken))
    probabilities = np.full(len(samples) // WINDOW, 0.01, np.float32)
    probabilities[2000 * PER_MS // WINDOW : round((at_s + len(spoken) / RATE_HZ - 0.3) * RATE_HZ) // WINDOW] = 0.9
    heard = told_apart(samples, measure(samples), probabilities)
    (laugh,) = heard.laughs
    assert laugh.span.overlap_ms(Span(2000, 3060)) > 800
    assert laugh.span.end_ms <= 1000 * at_s
    assert sum(span.overlap_ms(Span(round(1000 * at_s), len(samples) // PER_MS)) for span in heard.spans) > 2000


def _sound(signal: Signal) -> Samples:
    return np.asarray(np.clip(np.round(signal * 32_768), -32_768, 32_767), dtype=np.int16)
