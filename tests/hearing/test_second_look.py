"""A second look at short sounds, on single words of the published readings and on noises made here."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import soundfile
from scipy.signal import butter, sosfilt

from lessoncut.hearing.records import HeardWord, Sound
from lessoncut.hearing.second_look import (
    is_noise,
    is_voice,
    may_be_voice,
    missed_speech,
    with_looks,
    without_noisy_ends,
)
from lessoncut.hearing.voice import WINDOW, voice_probabilities
from lessoncut.take.samples import PER_MS, RATE_HZ, Samples
from lessoncut.times import Span

PUBLISHED = Path(__file__).parent.parent / "teaching" / "published"
AT_MS = 3000


def in_a_room(piece: Samples) -> tuple[Samples, Span]:
    """The piece in six seconds of room tone, and where it lies."""
    take = np.random.default_rng(2).normal(0, 20, 6 * RATE_HZ)
    take[AT_MS * PER_MS :][: len(piece)] += piece
    return take.astype(np.int16), Span(AT_MS, AT_MS + len(piece) // PER_MS)


def first_phones(name: str, length_ms: int) -> Samples:
    """The beginning of a published reading, from where its labels (``SOURCES.md`` there) say that it begins."""
    samples, _ = soundfile.read(PUBLISHED / f"{name}.flac", dtype="int16")
    begins_ms = json.loads((PUBLISHED / "phones.json").read_text())[name]["phones"][0][1]
    return np.asarray(samples[begins_ms * PER_MS : (begins_ms + length_ms) * PER_MS])


def cough() -> Samples:
    """Two bursts of noise in a throat's bands."""
    at = np.arange(RATE_HZ // 4) / RATE_HZ
    burst = sosfilt(
        butter(2, (400, 3000), "band", fs=RATE_HZ, output="sos"), np.random.default_rng(4).normal(size=4000)
    )
    bursts = burst * np.minimum(1, at / 0.01) * np.exp(-at * 12) * 9000
    return np.concatenate((bursts, np.zeros(RATE_HZ // 10), 0.7 * bursts)).astype(np.int16)


@pytest.mark.parametrize("name", ["arctic_a0007", "librivox_0870", "librivox_0930"])
def test_some_words_of_a_published_reading_are_a_voice(name: str) -> None:
    take, span = in_a_room(first_phones(name, 500))
    assert is_voice(take, span)
    assert not is_noise(take, span)


def test_a_cough_is_none() -> None:
    take, span = in_a_room(cough())
    assert is_noise(take, span)
    assert not is_voice(take, span)


def test_what_has_a_pitch_and_is_not_sure_to_be_none_may_be_a_voice() -> None:
    take, span = in_a_room(first_phones("arctic_a0007", 500))
    assert may_be_voice(take, span)
    assert not may_be_voice(take, Span(span.start_ms, span.start_ms + 300))
    assert not may_be_voice(*in_a_room(cough()))
    ringing = 9000 * np.sin(2 * np.pi * 1270 * np.arange(RATE_HZ // 2) / RATE_HZ)
    assert not may_be_voice(*in_a_room(ringing.astype(np.int16)))


def test_what_was_missed_is_speech_and_other_sounds_are_not() -> None:
    word, spoken = in_a_room(first_phones("arctic_a0007", 500))
    sounds = (Sound(spoken, -20.0), Sound(Span(500, 900), -60.0))
    assert missed_speech(word, sounds) == (spoken,)
    assert missed_speech(word, (Sound(spoken, -20.0, held=True),)) == ()
    assert missed_speech(word, (Sound(Span(spoken.start_ms, spoken.start_ms + 100), -20.0),)) == ()


def test_looks_only_raise_probabilities_and_only_inside_the_spans() -> None:
    take, span = in_a_room(first_phones("arctic_a0007", 500))
    deaf = np.zeros(len(voice_probabilities(take)), np.float32)
    looked = with_looks(take, [span], deaf)
    inside = slice(span.start_ms * PER_MS // WINDOW, -(-span.end_ms * PER_MS // WINDOW))
    assert looked[inside].max() > 0.75
    assert not looked[: inside.start].any()
    assert not looked[inside.stop :].any()
    np.testing.assert_array_equal(with_looks(take, [span], np.ones_like(deaf)), np.ones_like(deaf))
    assert not deaf.any()


def test_a_cough_right_behind_a_line_is_no_part_of_it() -> None:
    """Nor before it; but a word there is, and what follows too closely may be the line's last consonant."""
    words, noise = first_phones("arctic_a0007", 500), cough()[: RATE_HZ // 4]
    still = np.zeros(200 * PER_MS, np.int16)
    take, whole = in_a_room(np.concatenate((words, still, noise)))
    line, after = Span(AT_MS, AT_MS + 500), Span(AT_MS + 700, whole.end_ms)
    pause = Span(line.end_ms, after.start_ms)
    assert without_noisy_ends(take, whole, [pause], []) == line
    assert without_noisy_ends(take, whole, [pause], [HeardWord("ah", after, 0.4)]) == whole
    assert without_noisy_ends(take, whole, [Span(after.start_ms - 80, after.start_ms)], []) == whole
    assert without_noisy_ends(take, whole, [], []) == whole
    take, whole = in_a_room(np.concatenate((noise, still, words)))
    pause = Span(AT_MS + 250, AT_MS + 450)
    assert without_noisy_ends(take, whole, [pause], []) == Span(AT_MS + 450, whole.end_ms)
