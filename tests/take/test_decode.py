from __future__ import annotations

import itertools
import subprocess
import sys
from contextlib import nullcontext
from pathlib import Path

import numpy as np
import pytest

from lessoncut.errors import Cancelled, LessonFolderError, TakeError
from lessoncut.take import decode as module
from lessoncut.take.decode import decode, mapped, timed_pcm
from lessoncut.take.probe import probe
from lessoncut.take.samples import Samples
from tests.take.conftest import Recording
from tests.take.making import clicks, ffmpeg, found_clicks_ms, sine, write_wav

H264 = ("-c:v", "libx264", "-pix_fmt", "yuv420p")

NEAR_MS = 2.0
"""How far a click may be found from its place."""

# What a stream that has no note of it puts before the sound, in samples: an AAC encoder's one frame of 1024 (ISO/IEC
# 14496-3; ffmpeg's first AAC timestamp is -0.021333 s at 48 kHz), MP3's 576 + 529 (LAME's technical FAQ, encoder and
# decoder delay; from memory), MP2's 481 (the filter bank of ISO/IEC 11172-3; from memory).
AAC_MS = 1024 / 48
MP3_MS = (576 + 529) / 48
MP2_MS = 481 / 48


def decoded(into: Path, *paths: Path) -> Samples:
    return decode(probe(paths), into / "sound.npy")


def level_db(samples: Samples) -> float:
    return float(10 * np.log10(np.mean(np.square(samples[1600:-1600] / 32768))))


class TestClock:
    """A click is found where it was put, in take time, through every container and codec."""

    @pytest.mark.parametrize(
        ("name", "options", "late_ms"),
        [
            ("a.mp4", (*H264, "-c:a", "aac"), 0),
            ("a.mov", (*H264, "-c:a", "aac"), 0),
            ("a.mov", (*H264, "-c:a", "pcm_s24le"), 0),
            ("a.mkv", (*H264, "-c:a", "aac"), 0),
            ("a.mkv", (*H264, "-c:a", "flac"), 0),
            ("a.webm", ("-c:v", "libvpx", "-deadline", "realtime", "-cpu-used", "8", "-c:a", "libopus"), 0),
            ("a.webm", ("-c:v", "libvpx", "-deadline", "realtime", "-cpu-used", "8", "-c:a", "libvorbis"), 0),
            ("a.avi", ("-c:v", "mjpeg", "-c:a", "pcm_s16le"), 0),
            ("a.mp4", (*H264, "-bf", "0", "-c:a", "aac", "-movflags", "+frag_keyframe+empty_moov"), AAC_MS),
            ("a.ts", (*H264, "-c:a", "mp2"), MP2_MS),
        ],
    )
    def test_with_a_picture(
        self, recording: Recording, tmp_path: Path, name: str, options: tuple[str, ...], late_ms: float
    ) -> None:
        samples = decoded(tmp_path, recording(name, *options, picture="color=s=64x64:r=30000/1001:d=4"))
        assert found_clicks_ms(samples) == pytest.approx([1000 + late_ms, 2500 + late_ms], abs=NEAR_MS)

    @pytest.mark.parametrize(
        ("name", "options", "late_ms"),
        [
            ("a.wav", (), 0),
            ("a.wav", ("-c:a", "pcm_s24le"), 0),
            ("a.wav", ("-c:a", "pcm_f32le"), 0),
            ("a.wav", ("-ar", "8000"), 0),
            ("a.wav", ("-ar", "192000"), 0),
            ("a.wav", ("-ar", "44100", "-ac", "2"), 0),
            ("a.flac", (), 0),
            ("a.m4a", (), 0),
            ("a.caf", ("-c:a", "alac"), 0),
            ("a.mp3", (), 0),
            ("a.mp3", ("-write_xing", "0"), MP3_MS),
            ("a.ogg", (), 0),
            ("a.opus", (), 0),
            ("a.aac", (), AAC_MS),
            ("a.mp2", (), MP2_MS),
        ],
    )
    def test_sound_alone(
        self, recording: Recording, tmp_path: Path, name: str, options: tuple[str, ...], late_ms: float
    ) -> None:
        path = recording(name, *options, picture=None)
        samples = decoded(tmp_path, path)
        assert found_clicks_ms(samples) == pytest.approx([1000 + late_ms, 2500 + late_ms], abs=NEAR_MS)
        assert len(samples) == probe([path]).duration_ms * 16

    def test_a_start_that_is_not_zero(self, recording: Recording, tmp_path: Path) -> None:
        """An MPEG-TS begins at 1.4 s, with the priming of its AAC."""
        samples = decoded(tmp_path, recording("a.ts", *H264, "-c:a", "aac"))
        assert found_clicks_ms(samples) == pytest.approx([1000 + AAC_MS, 2500 + AAC_MS], abs=NEAR_MS)

    def test_without_an_edit_list_sound_and_picture_still_agree(self, recording: Recording, tmp_path: Path) -> None:
        """B-frames and no edit list: the first picture is shown late, at 2002 / 30000 s, and the sound waits for it."""
        path = recording("a.mp4", *H264, "-bf", "3", "-c:a", "aac", "-movflags", "+frag_keyframe+empty_moov")
        samples = decoded(tmp_path, path)
        assert found_clicks_ms(samples) == pytest.approx([1000 + 2002 / 30, 2500 + 2002 / 30], abs=NEAR_MS)

    @pytest.mark.parametrize("name", ["a.mp4", "a.mkv"])
    def test_a_microphone_that_starts_late(self, recording: Recording, tmp_path: Path, name: str) -> None:
        path = recording(name, *H264, "-c:a", "aac", before_sound=("-itsoffset", "0.5"))
        samples = decoded(tmp_path, path)
        assert found_clicks_ms(samples) == pytest.approx([1500, 3000], abs=NEAR_MS)
        assert not samples[: 450 * 16].any()

    def test_a_camera_that_starts_late(self, tmp_path: Path, click_wav: Path) -> None:
        ffmpeg(
            "-itsoffset", "0.5", "-f", "lavfi", "-i", "color=s=64x64:d=3", "-i", click_wav, *H264, tmp_path / "a.mkv"
        )
        assert found_clicks_ms(decoded(tmp_path, tmp_path / "a.mkv")) == pytest.approx([1000, 2500], abs=NEAR_MS)

    @pytest.mark.parametrize("cut_s", [0.3, 0.7, 0.95])
    def test_an_edit_list(self, mp4: Path, tmp_path: Path, cut_s: float) -> None:
        ffmpeg("-ss", str(cut_s), "-i", mp4, "-c", "copy", tmp_path / "a.mp4")
        (file,) = probe([tmp_path / "a.mp4"]).files
        expected = [1000 - 1000 * cut_s, 2500 - 1000 * cut_s]
        # ffmpeg cuts its copy at a packet: the edit list says where the sound really begins.
        assert found_clicks_ms(decoded(tmp_path, tmp_path / "a.mp4")) == pytest.approx(expected, abs=NEAR_MS)
        assert file.start_ms == 0

    @pytest.mark.parametrize("gap_s", [0.05, 0.5, 3.0])
    @pytest.mark.parametrize("name", ["a.mkv", "a.mp4"])
    def test_a_gap_in_the_sound_is_silence(self, recording: Recording, tmp_path: Path, name: str, gap_s: float) -> None:
        """A recorder that lost packets: what follows must not move up."""
        graph = f"asetnsamples=480,asetpts=if(gte(T\\,2)\\,PTS+{gap_s}*SR\\,PTS)"
        codec = "pcm_s16le" if name == "a.mkv" else "alac"
        path = recording(name, *H264, "-af", graph, "-c:a", codec)
        samples = decoded(tmp_path, path)
        assert found_clicks_ms(samples) == pytest.approx([1000, 2500 + 1000 * gap_s], abs=NEAR_MS)
        assert len(samples) / 16 == pytest.approx(4000 + 1000 * gap_s, abs=2)
        # The encoder of the MP4 gathers 4096 samples before it looks at the clock: 85 ms.
        blur_ms = 3 if name == "a.mkv" else 90
        assert not samples[(2000 + blur_ms) * 16 : round((2000 - blur_ms + 1000 * gap_s) * 16)].any()

    def test_times_in_whole_milliseconds_do_not_tear_the_sound(self, tmp_path: Path) -> None:
        """Matroska rounds each packet's time to 1 ms; a pure tone must stay one."""
        write_wav(tmp_path / "a.wav", sine(-12, 1000, 4.0, 44_100), 44_100)
        ffmpeg("-i", tmp_path / "a.wav", "-c:a", "pcm_s16le", tmp_path / "a.mkv")
        samples = decoded(tmp_path, tmp_path / "a.mkv")[1600:-1600] / 32768
        at = np.arange(len(samples)) / 16000
        parts = np.stack([np.sin(2000 * np.pi * at), np.cos(2000 * np.pi * at)], axis=1)
        amplitudes, _, _, _ = np.linalg.lstsq(parts, samples, rcond=None)
        rest = samples - parts @ amplitudes
        assert 20 * np.log10(np.std(rest) / np.std(samples)) < -55

    @pytest.mark.parametrize("name", ["a.ts", "a.aac", "a.mp3"])
    def test_channels_that_change_midway(self, click_wav: Path, tmp_path: Path, name: str) -> None:
        """ffmpeg starts its filters anew at such a place; the sound must not be shifted by that."""
        for channels, start_s in ((1, 0), (2, 4)):
            ffmpeg(
                "-i", click_wav, "-ac", str(channels), "-output_ts_offset", str(start_s), tmp_path / f"{channels}{name}"
            )
        (tmp_path / name).write_bytes((tmp_path / f"1{name}").read_bytes() + (tmp_path / f"2{name}").read_bytes())
        samples = decoded(tmp_path, tmp_path / name)
        found = np.array(found_clicks_ms(samples))
        assert np.diff(found)[[0, 2]] == pytest.approx([1500, 1500], abs=NEAR_MS)
        # The second part begins after the first and its codec's padding: at most four frames of 1152 at 48 kHz.
        assert 4000 <= found[2] - found[0] < 4100

    def test_broken_off_in_the_middle(self, recording: Recording, tmp_path: Path) -> None:
        content = recording("a.mp4", *H264, "-c:a", "aac", "-movflags", "+faststart").read_bytes()
        (tmp_path / "a.mp4").write_bytes(content[: round(0.6 * len(content))])
        samples = decoded(tmp_path, tmp_path / "a.mp4")
        assert found_clicks_ms(samples) == pytest.approx([1000], abs=NEAR_MS)

    def test_damaged_in_the_middle(self, recording: Recording, tmp_path: Path) -> None:
        """What cannot be decoded is lost; what follows is where it was."""
        content = bytearray(recording("a.mp4", *H264, "-c:a", "aac").read_bytes())
        start = content.index(b"mdat") + 8
        content[start : start + 60_000] = np.random.default_rng(4).bytes(60_000)
        (tmp_path / "a.mp4").write_bytes(content)
        samples = decoded(tmp_path, tmp_path / "a.mp4")
        assert len(samples) == 4000 * 16
        assert found_clicks_ms(samples, threshold=0.3)[-1] == pytest.approx(2500, abs=NEAR_MS)

    def test_several_files(self, recording: Recording, mp4: Path, tmp_path: Path) -> None:
        """Each begins where the one before ends, whatever its format."""
        paths = [
            mp4,
            recording("a.ts", *H264, "-c:a", "aac"),
            recording("a.wav", "-ar", "8000", "-ac", "2", picture=None),
        ]
        take = probe(paths)
        second, third = take.spans[1].start_ms, take.spans[2].start_ms
        samples = decode(take, tmp_path / "sound.npy")
        expected = [1000, 2500, second + 1000 + AAC_MS, second + 2500 + AAC_MS, third + 1000, third + 2500]
        assert found_clicks_ms(samples) == pytest.approx(expected, abs=NEAR_MS)
        assert len(samples) == take.duration_ms * 16


class TestLevel:
    @pytest.mark.parametrize(
        "options",
        [(), ("-af", "pan=stereo|c0=c0|c1=c0"), ("-c:a", "pcm_s24le"), ("-c:a", "pcm_f32le"), ("-ar", "8000"),
         ("-af", "pan=stereo|c0=c0|c1=0*c0"), ("-af", "pan=5.1|FL=0*c0|FR=0*c0|FC=c0|LFE=0*c0|BL=0*c0|BR=0*c0"),
         ("-ar", "192000"), ("-af", "pan=stereo|c0=c0|c1=-1*c0"), ("-af", "dcshift=0.3", "-c:a", "pcm_s24le")],
    )  # fmt: skip
    def test_a_sine_keeps_its_level(self, tmp_path: Path, options: tuple[str, ...]) -> None:
        """-12 dBFS peak is -15.01 dB RMS, whatever the format."""
        write_wav(tmp_path / "in.wav", sine(-12))
        ffmpeg("-i", tmp_path / "in.wav", *options, tmp_path / "a.wav")
        samples = decoded(tmp_path, tmp_path / "a.wav")
        assert level_db(samples) == pytest.approx(-15.01, abs=0.15)
        assert abs(samples.mean()) < 1

    def test_clipped_sound_stays_in_range(self, tmp_path: Path) -> None:
        write_wav(tmp_path / "in.wav", sine(0))
        ffmpeg("-i", tmp_path / "in.wav", "-af", "volume=12dB", "-c:a", "pcm_f32le", tmp_path / "a.wav")
        samples = decoded(tmp_path, tmp_path / "a.wav")
        assert samples.max() == 32767
        assert samples.min() == -32768

    def test_the_chosen_track_is_heard(self, tmp_path: Path, click_wav: Path) -> None:
        ffmpeg("-f", "lavfi", "-i", "sine=d=4", "-i", click_wav, "-map", "0", "-map", "1", "-c:a", "flac",
               "-disposition:a:0", "0", "-disposition:a:1", "default", tmp_path / "a.mkv")  # fmt: skip
        assert found_clicks_ms(decoded(tmp_path, tmp_path / "a.mkv")) == pytest.approx([1000, 2500], abs=NEAR_MS)


class TestFile:
    def test_it_is_mapped_and_read_again(self, mp4: Path, tmp_path: Path) -> None:
        samples = decoded(tmp_path, mp4)
        assert isinstance(samples, np.memmap)
        assert samples.dtype == np.int16
        assert not samples.flags.writeable
        again = mapped(tmp_path / "sound.npy")
        assert np.array_equal(samples, again)
        assert [path.name for path in tmp_path.iterdir()] == ["sound.npy"]

    def test_numpy_itself_reads_it(self, click_wav: Path, tmp_path: Path) -> None:
        decoded(tmp_path, click_wav)
        assert np.load(tmp_path / "sound.npy").shape == (64_000,)

    @pytest.mark.parametrize(
        "content", [b"", b"\x93NUMPY", b"text", b"\x93NUMPY\x01\x00\x46\x00{'descr': '<i2', 'fortran_order': False, }"]
    )
    def test_what_is_not_sound_is_refused(self, tmp_path: Path, content: bytes) -> None:
        (tmp_path / "sound.npy").write_bytes(content)
        with pytest.raises(LessonFolderError, match="decoded sound"):
            mapped(tmp_path / "sound.npy")

    def test_another_array_is_refused(self, tmp_path: Path) -> None:
        np.save(tmp_path / "sound.npy", np.zeros((2, 2)))
        with pytest.raises(LessonFolderError, match="not decoded sound"):
            mapped(tmp_path / "sound.npy")

    def test_missing(self, tmp_path: Path) -> None:
        with pytest.raises(LessonFolderError, match="cannot be read"):
            mapped(tmp_path / "sound.npy")

    def test_progress(self, mp4: Path, click_wav: Path, tmp_path: Path) -> None:
        said: list[float] = []
        decode(probe([mp4, click_wav]), tmp_path / "sound.npy", said.append)
        assert said == sorted(said)
        assert said[-1] == pytest.approx(1.0)

    @pytest.mark.parametrize("reason", [Cancelled, KeyboardInterrupt])
    def test_stopped_midway_leaves_nothing(self, mp4: Path, tmp_path: Path, reason: type[BaseException]) -> None:
        def stop(_: float) -> None:
            raise reason("enough")

        with pytest.raises(reason):
            decode(probe([mp4]), tmp_path / "sound.npy", stop)
        assert list(tmp_path.iterdir()) == []

    def test_a_recording_that_nothing_can_decode(self, recording: Recording, tmp_path: Path) -> None:
        content = bytearray(recording("a.m4a", picture=None).read_bytes())
        start, end = content.index(b"mdat") + 4, content.index(b"moov") - 4
        content[start:end] = bytes(end - start)
        (tmp_path / "a.m4a").write_bytes(content)
        take = probe([tmp_path / "a.m4a"])
        with pytest.raises(TakeError, match="ffmpeg cannot read it") as caught:
            decode(take, tmp_path / "sound.npy")
        assert caught.value.where == str(tmp_path / "a.m4a")
        assert [path.name for path in tmp_path.iterdir()] == ["a.m4a"]

    def test_a_recording_that_is_gone(self, click_wav: Path, tmp_path: Path) -> None:
        path = tmp_path / "a.wav"
        path.write_bytes(click_wav.read_bytes())
        take = probe([path])
        path.unlink()
        with pytest.raises(TakeError, match="No such file"):
            decode(take, tmp_path / "sound.npy")
        assert list(tmp_path.iterdir()) == []

    def test_a_folder_that_is_not_there(self, click_wav: Path, tmp_path: Path) -> None:
        with pytest.raises(LessonFolderError):
            decode(probe([click_wav]), tmp_path / "nowhere" / "sound.npy")

    @pytest.mark.skipif(not Path("/dev/full").exists(), reason="stands in for a full disk")
    def test_a_full_disk(self, click_wav: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(module, "in_the_making", lambda _: nullcontext(Path("/dev/full")))
        with pytest.raises(LessonFolderError, match="the disk is full"):
            decode(probe([click_wav]), tmp_path / "sound.npy")


class TestTimedPcm:
    @pytest.mark.parametrize(("rate_hz", "channels"), [(48_000, 2), (44_100, 1), (16_000, 6)])
    def test_any_rate_is_exactly_as_long_as_the_file(self, mp4: Path, rate_hz: int, channels: int) -> None:
        (file,) = probe([mp4]).files
        sound = b"".join(timed_pcm(file, rate_hz=rate_hz, channels=channels))
        assert len(sound) == 4 * rate_hz * channels * 2

    def test_it_can_be_left_early(self, mp4: Path) -> None:
        (file,) = probe([mp4]).files
        (first,) = itertools.islice(timed_pcm(file, rate_hz=48_000, channels=1), 1)
        assert first


@pytest.mark.slow
@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="the peak is read from /proc")
def test_a_long_take_needs_little_memory(tmp_path: Path) -> None:
    """Three hours, in a process of its own: the most memory it ever held."""
    sound = clicks([], 60)
    write_wav(tmp_path / "minute.wav", sound)
    ffmpeg("-stream_loop", "179", "-i", tmp_path / "minute.wav", "-ac", "2", "-c:a", "flac", tmp_path / "a.flac")
    code = f"""
from pathlib import Path
from lessoncut.take.decode import decode
from lessoncut.take.measure import measure
from lessoncut.take.peaks import outline
from lessoncut.take.probe import probe
samples = decode(probe([Path({str(tmp_path / "a.flac")!r})]), Path({str(tmp_path / "sound.npy")!r}))
assert len(samples) == 3 * 3600 * 16000, len(samples)
measure(samples)
outline(samples)
(peak,) = (line for line in Path("/proc/self/status").read_text().splitlines() if line.startswith("VmHWM:"))
print(peak.split()[1])
"""
    answer = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    # The mapped file's pages count too while they are in use (345 MB); the system takes them back when it needs them.
    assert int(answer.stdout) < 700_000
