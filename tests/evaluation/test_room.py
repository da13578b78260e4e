"""Rooms do what they say, measured by definition; codecs do not move the sound."""

from __future__ import annotations

import subprocess
from dataclasses import replace
from pathlib import Path

import imageio_ffmpeg
import numpy as np
import pytest
from scipy.signal import correlate

from tests.evaluation.plan import Codec, Room
from tests.evaluation.room import recorded, write_take
from tests.evaluation.signals import RATE, Samples, count, silence
from tests.evaluation.sounds import STRAY_KINDS, held, stray

_DRY = Room(None, None, 50, None, 10.0, None, "wav", 16000, seed=3)


def _dbfs(samples: Samples) -> float:
    return 10 * float(np.log10(np.mean(samples**2)))


def test_a_dry_room_changes_nothing() -> None:
    noise = 0.1 * np.random.default_rng(1).standard_normal(RATE)
    assert np.array_equal(recorded(noise, _DRY), noise)


def test_room_tone_is_pink_at_its_level() -> None:
    """Pink noise has equal power in every octave."""
    tone = recorded(silence(30), replace(_DRY, tone_dbfs=-52.0))
    assert _dbfs(tone) == pytest.approx(-52, abs=0.1)
    power = np.abs(np.fft.rfft(tone)) ** 2
    hz = np.fft.rfftfreq(len(tone), 1 / RATE)
    octaves = [10 * np.log10(power[(hz >= low) & (hz < 2 * low)].sum()) for low in (80, 160, 320, 640, 1280, 2560)]
    assert max(octaves) - min(octaves) < 1.5


def test_hum_is_at_the_mains_frequency_and_its_level() -> None:
    hum = recorded(silence(4), replace(_DRY, hum_dbfs=-50.0, hum_hz=60))
    assert _dbfs(hum) == pytest.approx(-50, abs=0.1)
    assert np.argmax(np.abs(np.fft.rfft(hum))) * RATE / len(hum) == pytest.approx(60, abs=0.3)


@pytest.mark.parametrize("reverb_s", [0.2, 0.5])
def test_reverberation_takes_its_time_to_fall_by_60_db(reverb_s: float) -> None:
    """Backward integration (Schroeder 1965), slope from -5 to -25 dB tripled, as ISO 3382 defines T20; from memory."""
    click = silence(1.5)
    click[count(0.2)] = 0.5
    wet = recorded(click, replace(_DRY, reverb_s=reverb_s, direct_db=6.0))
    assert int(np.argmax(np.abs(wet))) == count(0.2)
    tail = wet[count(0.2) + 1 :]
    assert 10 * np.log10(0.25 / np.sum(tail**2)) == pytest.approx(6, abs=0.1)
    left = 10 * np.log10(np.cumsum(tail[::-1] ** 2)[::-1] / np.sum(tail**2) + 1e-30)
    reached = [int(np.argmax(left < -depth)) / RATE for depth in (5, 25)]
    assert 3 * (reached[1] - reached[0]) == pytest.approx(reverb_s, rel=0.15)


def test_overload_clips() -> None:
    noise = 0.1 * np.random.default_rng(2).standard_normal(RATE)
    loud = recorded(noise, replace(_DRY, overload_db=6.0))
    assert np.abs(loud).max() == pytest.approx(0.97)
    assert np.sum(np.abs(loud) > 0.969) > 10


@pytest.mark.parametrize("codec", ["wav", "m4a", "mp3", "opus"])
def test_codecs_do_not_move_the_sound(codec: Codec, tmp_path: Path) -> None:
    """Decoded by ffmpeg, the take correlates best with the original at a shift under 2 ms."""
    rng = np.random.default_rng(4)
    sound = silence(3)
    for at_s in (0.5, 1.3, 2.1):
        sound[count(at_s) : count(at_s) + 4000] = 0.2 * np.cumsum(rng.standard_normal(4000)) / 40
    take = write_take(sound, replace(_DRY, codec=codec, rate_hz=48000 if codec == "opus" else 44100), tmp_path)
    raw = subprocess.run(
        [
            imageio_ffmpeg.get_ffmpeg_exe(),
            "-loglevel",
            "error",
            "-i",
            str(take),
            "-f",
            "f32le",
            "-ac",
            "1",
            "-ar",
            str(RATE),
            "-",
        ],
        check=True,
        capture_output=True,
    ).stdout
    back = np.frombuffer(raw, dtype=np.float32).astype(np.float64)
    shift = int(np.argmax(correlate(back, sound))) - (len(sound) - 1)
    assert abs(shift) / RATE < 0.002


@pytest.mark.parametrize("kind", STRAY_KINDS)
def test_stray_sounds_are_short_and_quieter_than_full_scale(kind: str) -> None:
    for seed in range(10):
        sound = stray(kind, np.random.default_rng(seed))
        assert 0.1 < len(sound) / RATE < 2.0
        assert np.isfinite(sound).all()
        assert 0.005 < np.abs(sound).max() < 1.0


def test_stray_sounds_stand_out_of_a_loud_room() -> None:
    quiet, loud = (stray("page", np.random.default_rng(1), room) for room in (-70.0, -40.0))
    assert 20 * np.log10(np.abs(loud).max() / np.abs(quiet).max()) > 5


@pytest.mark.parametrize("name", ["v", "w", "l", "r", "s", "th", "n", "ng", "ee", "i", "f", "dh", "m"])
def test_held_sounds_are_steady(name: str) -> None:
    """The middle half stays within 6 dB from one tenth of a second to the next."""
    sound = held(name, np.random.default_rng(1))
    middle = sound[len(sound) // 4 : 3 * len(sound) // 4]
    tenths = [_dbfs(middle[at : at + count(0.1)]) for at in range(0, len(middle) - count(0.1), count(0.1))]
    assert 0.8 < len(sound) / RATE < 2.3
    assert max(tenths) - min(tenths) < 6
