from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile
from faster_whisper.vad import get_vad_model

from lessoncut.hearing.voice import WINDOW, voice_probabilities
from lessoncut.take.samples import RATE_HZ, Samples

PUBLISHED = Path(__file__).parent.parent / "teaching" / "published"


@pytest.fixture(scope="module")
def reading() -> Samples:
    samples, rate_hz = soundfile.read(PUBLISHED / "librivox_0870.flac", dtype="int16")
    assert rate_hz == RATE_HZ
    return np.concatenate((np.zeros(RATE_HZ, np.int16), samples, np.zeros(RATE_HZ, np.int16)))


def test_blocks_do_not_matter(reading: Samples) -> None:
    whole = voice_probabilities(reading)
    assert len(whole) == -(-len(reading) // WINDOW)
    np.testing.assert_array_equal(voice_probabilities(reading, block_windows=7), whole)


def test_it_is_the_network_as_faster_whisper_runs_it(reading: Samples) -> None:
    full = reading[: len(reading) // WINDOW * WINDOW]
    theirs = get_vad_model()(full.astype(np.float32) / 32768).reshape(-1)
    # Their last window's context is zeroed; ours is what came before it.
    np.testing.assert_allclose(voice_probabilities(full)[:-1], theirs[:-1], atol=1e-5)


def test_silence_is_not_speech_and_speech_is(reading: Samples) -> None:
    likely = voice_probabilities(reading)
    second = RATE_HZ // WINDOW
    assert likely[: second - 2].max() < 0.1
    assert np.median(likely[second:-second]) > 0.9


def test_nothing_gives_nothing() -> None:
    assert len(voice_probabilities(np.zeros(0, np.int16))) == 0
