"""Loudness before and after, and after coding; ffmpeg's meter is the second opinion."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from lessoncut.errors import InputError
from lessoncut.render import coding
from lessoncut.render.levelling import CLOSE_ENOUGH_LU, blocks, levelled, remarks
from lessoncut.render.loudness import Loudness, measure
from lessoncut.render.samples import RATE_HZ, Chunk
from lessoncut.render.targets import default_target_lufs
from tests.render.sounding import room
from tests.render.test_limiter import speechlike
from tests.render.test_loudness import ebur128, quiet


def programme(level: float, channels: int = 2, noise: float = 1e-3, peaky: float = 0.5) -> Chunk:
    """Buzz and pauses; ``peaky`` spikes stand of that many times the buzz's peak."""
    buzz = np.concatenate([speechlike(seed, level, channels) for seed in range(4)])
    sound = np.concatenate((buzz, room(3, noise, channels), buzz)).astype(np.float32)
    sound[:: RATE_HZ // 3] = level * peaky
    return sound


@pytest.mark.parametrize("channels", [1, 2])
@pytest.mark.parametrize("level", [0.03, 0.3, 0.95])
def test_a_programme_reaches_its_target_and_keeps_its_true_peak(level: float, channels: int) -> None:
    target = default_target_lufs(channels)
    assert target == (-19 if channels == 1 else -16)
    done = levelled(programme(level, channels), target)
    sound = np.concatenate(list(done.blocks()))
    theirs = ebur128(sound)
    # The bar of the project: within 0.5 LU. EBU R 128: no true peak over -1 dBTP.
    assert theirs["I"] == pytest.approx(target, abs=0.3)
    assert theirs["Peak"] <= -1.4
    assert done.after.integrated_lufs == pytest.approx(measure([sound]).integrated_lufs, abs=0.01)


def test_a_peaky_take_is_limited_and_still_reaches_it() -> None:
    done = levelled(programme(0.2, peaky=4.0), -16.0)
    assert done.limited_db > 1
    theirs = ebur128(np.concatenate(list(done.blocks())))
    assert theirs["I"] == pytest.approx(-16, abs=0.3)
    assert theirs["Peak"] <= -1.4


@pytest.mark.parametrize("channels", [1, 2])
@pytest.mark.parametrize("lufs", [-45, -59, -68])
def test_a_very_quiet_take_reaches_it_too(lufs: float, channels: int) -> None:
    """BS.1770 leaves out what lies under -70 LUFS: of the quietest, more counts after the gain than before."""
    target = default_target_lufs(channels)
    loud = programme(0.3, channels, noise=1e-4)
    sound = loud * np.float32(10 ** ((lufs - measure([loud]).integrated_lufs) / 20))
    done = levelled(sound, target)
    assert ebur128(np.concatenate(list(done.blocks())))["I"] == pytest.approx(target, abs=0.3)
    assert any("quiet" in says for says in remarks(done, tone_lufs=-100))


def test_one_gain_for_all_of_it() -> None:
    sound = programme(0.1)
    done = levelled(sound, -23.0)
    assert done.limited_db == 0
    quotient = np.concatenate(list(done.blocks())) / np.where(sound == 0, 1, sound)
    assert np.ptp(quotient[sound != 0]) < 1e-4


def test_off_leaves_every_sample() -> None:
    sound = programme(0.5)
    done = levelled(sound, None)
    np.testing.assert_array_equal(np.concatenate(list(done.blocks())), sound)


def test_silence_is_left_alone() -> None:
    done = levelled(quiet(2), -16.0)
    assert not np.concatenate(list(done.blocks())).any()


def test_quiet_and_noisy_takes_are_told_with_figures() -> None:
    assert remarks(levelled(programme(0.3), -16.0), tone_lufs=-60) == ()
    (says,) = remarks(levelled(programme(0.01), -16.0), tone_lufs=-90)
    assert "quiet" in says and "dB" in says and "LUFS" in says
    (says,) = remarks(levelled(programme(0.3, noise=0.02), -16.0), tone_lufs=-34)
    assert "noisy" in says and "-34 LUFS" in says
    spiky = programme(0.1)
    spiky[RATE_HZ : RATE_HZ + 48] = 0.9
    assert any("turned down" in says for says in remarks(levelled(spiky, -16.0), tone_lufs=-60))
    (says,) = remarks(levelled(programme(1.3), None), tone_lufs=-60)
    assert "true peak" in says


@pytest.mark.parametrize(("name", "coder"), [("a.m4a", coding.AAC), ("a.mp3", coding.MP3)])
@pytest.mark.parametrize("channels", [1, 2])
def test_the_coded_file_keeps_target_and_peak(tmp_path: Path, name: str, coder: coding.Coder, channels: int) -> None:
    target = default_target_lufs(channels)
    coding.write_sound(levelled(programme(0.7, channels), target), tmp_path / name, coder)
    sound = np.concatenate(list(coding.sound_of(tmp_path / name, channels)))
    theirs = ebur128(sound)
    assert theirs["I"] == pytest.approx(target, abs=0.25)
    assert theirs["Peak"] <= -1.0


def test_a_peak_that_coding_raised_is_taken_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    told(monkeypatch, (-16.0, -0.4), (-16.1, -1.2))
    done = coding.write_sound(levelled(programme(0.7), -16.0), tmp_path / "a.m4a", coding.AAC)
    assert done.levelling.ceiling_dbtp == pytest.approx(-1.5 - 0.6 - 0.1)


def test_what_coding_turned_down_is_made_up_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    told(monkeypatch, (-17.0, -2.5), (-16.0, -1.6))
    before = levelled(programme(0.7), -16.0)
    done = coding.write_sound(before, tmp_path / "a.m4a", coding.AAC)
    assert done.levelling.gain_db - before.levelling.gain_db == pytest.approx(1.0, abs=CLOSE_ENOUGH_LU)
    assert done.levelling.ceiling_dbtp == pytest.approx(-0.5, abs=CLOSE_ENOUGH_LU)


def told(monkeypatch: pytest.MonkeyPatch, *heard: tuple[float, float]) -> None:
    """What coded files measure, one after the other: loudness and true peak."""
    levels = (Loudness(lufs, lufs, lufs, peak_dbtp) for lufs, peak_dbtp in heard)
    monkeypatch.setattr(coding, "loudness_of", lambda *_: next(levels))


def test_no_frame_is_spoiled_by_the_coder(tmp_path: Path) -> None:
    """The sound of every tenth of a second that is loud comes back at 20 dB or more over what coding changed."""
    sound = programme(0.5)
    coding.write_sound(levelled(sound, None), tmp_path / "a.m4a", coding.AAC)
    heard = np.concatenate(list(coding.sound_of(tmp_path / "a.m4a", sound.shape[1])))[: len(sound)]
    tenths = len(sound) // 4800
    wanted, wrong = ((part[: tenths * 4800].reshape(tenths, -1) ** 2).mean(axis=1) for part in (sound, heard - sound))
    loud = wanted > wanted.max() / 100
    assert 10 * np.log10((wanted / wrong)[loud]).min() > 20


def test_slow_sound_is_longer_and_keeps_its_pitch(tmp_path: Path) -> None:
    at = np.arange(3 * RATE_HZ) / RATE_HZ
    sine = (0.3 * np.sin(2 * np.pi * 440 * at)).astype(np.float32)[:, None]
    slow = coding.stretched(sine, 0.8, tmp_path / "slow.f32")
    assert len(slow) == round(len(sine) / 0.8)
    middle = slow[RATE_HZ : 3 * RATE_HZ, 0]
    spectrum = np.abs(np.fft.rfft(middle * np.hanning(len(middle))))
    assert np.fft.rfftfreq(len(middle), 1 / RATE_HZ)[spectrum.argmax()] == pytest.approx(440, abs=4)


def test_slow_sound_keeps_its_places(tmp_path: Path) -> None:
    sound = room(4, 1e-4)
    for at_s in (1.0, 2.5):
        sound[round(at_s * RATE_HZ) : round(at_s * RATE_HZ) + 4800] = room(0.1, 0.2)
    slow = np.abs(coding.stretched(sound, 0.8, tmp_path / "slow.f32")[:, 0])
    onsets = list(np.flatnonzero(slow > 0.05) / RATE_HZ)
    assert onsets[0] == pytest.approx(1.25, abs=0.02)
    assert next(at for at in onsets if at > 2) == pytest.approx(3.125, abs=0.02)


def test_slow_sound_without_rubber_band(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(coding, "has_rubberband", lambda: False)
    test_slow_sound_is_longer_and_keeps_its_pitch(tmp_path)


def test_a_cover_that_is_no_picture_is_refused(tmp_path: Path) -> None:
    (tmp_path / "cover.jpg").write_bytes(b"GIF89a")
    labels = coding.Labels(cover=tmp_path / "cover.jpg")
    with pytest.raises(InputError, match="neither a JPEG nor a PNG"):
        coding.write_sound(levelled(programme(0.3), -16.0), tmp_path / "a.m4a", coding.AAC, labels)


def test_blocks_are_the_whole_programme() -> None:
    sound = programme(0.9)[: RATE_HZ * 2 + 17]
    done = levelled(sound, -16.0)
    assert sum(len(block) for block, _ in blocks(sound, done.levelling)) == len(sound)
