from __future__ import annotations

import numpy as np
import pytest

from lessoncut.take.mix import ChannelTally
from lessoncut.take.samples import Samples
from tests.take.making import Sound, sine, sixteen_bits


def mixed(sound: Sound, blocks: int = 3) -> Samples:
    tally = ChannelTally(sound.shape[1])
    for block in np.array_split(sound, blocks):
        tally.add(block)
    return tally.mix().apply(sound)


def rms_db(sound: Sound) -> float:
    return float(10 * np.log10(np.mean(np.square(sound / 32768))))


VOICE = sine(-12)
NOISE = sixteen_bits(0.01 * np.random.default_rng(3).standard_normal(len(VOICE)))
SILENCE = np.zeros_like(VOICE)


def test_one_channel_is_left_alone() -> None:
    assert np.array_equal(mixed(VOICE[:, None]), VOICE)


def test_two_alike_are_either() -> None:
    assert np.array_equal(mixed(np.stack([VOICE, VOICE], axis=1)), VOICE)


@pytest.mark.parametrize("dead", [SILENCE, (VOICE / 11).astype(np.int16), (NOISE / 4).astype(np.int16)])
@pytest.mark.parametrize("order", [1, -1])
def test_a_dead_channel_does_not_halve_the_level(dead: Sound, order: int) -> None:
    """20 dB is a factor of 10: a channel at an eleventh of the other is dead."""
    assert np.array_equal(mixed(np.stack([VOICE, dead][::order], axis=1)), VOICE)


def test_a_live_channel_counts() -> None:
    quieter = (VOICE / 9).astype(np.int16)
    assert np.allclose(mixed(np.stack([VOICE, quieter], axis=1)), (VOICE / 2 + VOICE / 18), atol=1)


def test_channels_that_cancel() -> None:
    assert np.array_equal(mixed(np.stack([VOICE, -VOICE], axis=1)), VOICE)


def test_two_rooms_are_averaged() -> None:
    """Unrelated sounds of one power: their mean has half of it, -3.01 dB."""
    other = sine(-12, hz=700)
    assert rms_db(mixed(np.stack([VOICE, other], axis=1))) == pytest.approx(rms_db(VOICE) - 3.0103, abs=0.01)


def test_a_voice_in_the_centre_of_5_1() -> None:
    channels = np.stack([SILENCE, SILENCE, VOICE, SILENCE, SILENCE, SILENCE], axis=1)
    assert np.array_equal(mixed(channels), VOICE)


@pytest.mark.parametrize("offset", [-9000, -37, 1, 12000])
def test_no_constant_offset_is_left(offset: int) -> None:
    shifted = (VOICE + offset).astype(np.int16)
    result = mixed(np.stack([shifted, VOICE], axis=1))
    assert abs(result.mean()) < 0.5
    assert np.allclose(result, VOICE, atol=1)


def test_an_offset_is_not_taken_for_sound() -> None:
    """A dead channel with a constant offset louder than the voice is still dead."""
    assert np.array_equal(mixed(np.stack([VOICE, SILENCE + 20_000], axis=1).astype(np.int16)), VOICE)


def test_full_scale_survives() -> None:
    square = np.where(np.arange(1000) % 2, 32767, -32768).astype(np.int16)
    assert np.array_equal(mixed(np.stack([square, square], axis=1)), square)


def test_silence_is_silence() -> None:
    assert not mixed(np.stack([SILENCE, SILENCE], axis=1)).any()


def test_nothing_at_all() -> None:
    assert len(mixed(np.zeros((0, 2), np.int16))) == 0
