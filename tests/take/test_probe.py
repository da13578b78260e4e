from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from contextlib import contextmanager
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest

from lessoncut.errors import Cancelled, TakeError
from lessoncut.take.content import sha256
from lessoncut.take.probe import probe
from lessoncut.take.records import Picture, SoundTrack
from lessoncut.times import FrameRate, Span
from tests.take.conftest import Recording
from tests.take.making import clicks, ffmpeg, write_wav

H264 = ("-c:v", "libx264", "-pix_fmt", "yuv420p")
NTSC = Fraction(30_000, 1001)


def picture_of(path: Path) -> Picture:
    picture = probe([path]).picture
    assert picture
    return picture


@contextmanager
def as_nobody() -> Iterator[None]:
    """Without the rights of root, who may read everything."""
    is_root = hasattr(os, "geteuid") and os.geteuid() == 0
    if is_root:
        os.seteuid(65534)
    try:
        yield
    finally:
        if is_root:
            os.seteuid(0)


class TestFacts:
    def test_a_usual_recording(self, mp4: Path) -> None:
        (file,) = probe([mp4]).files
        assert file.path == str(mp4)
        assert file.size_bytes == mp4.stat().st_size
        assert file.sha256 == hashlib.sha256(mp4.read_bytes()).hexdigest()
        assert (file.start_ms, file.duration_ms) == (0, 4000)
        assert file.sound == SoundTrack("aac", 48_000, 1, 0)
        assert file.picture
        assert (file.picture.width, file.picture.height, file.picture.rotation_deg) == (320, 180, 0)
        assert (file.picture.rate.per_second, file.picture.steady) == (NTSC, True)
        assert (file.picture.codec, file.picture.pixel_format, file.picture.interlaced) == ("h264", "yuv420p", False)

    @pytest.mark.parametrize("name", ["a.mov", "a.mp4", "a.mxf"])
    @pytest.mark.parametrize("label", ["10:23:11;05", "01:00:00:00"])
    def test_a_cameras_timecode(self, mp4: Path, tmp_path: Path, name: str, label: str) -> None:
        sound = "pcm_s16le" if name.endswith("mxf") else "copy"
        picture = "mpeg2video" if name.endswith("mxf") else "copy"
        ffmpeg("-i", mp4, "-c:v", picture, "-c:a", sound, "-timecode", label, tmp_path / name)
        assert picture_of(tmp_path / name).timecode == label
        assert picture_of(mp4).timecode is None

    def test_the_hash_is_the_published_one(self, tmp_path: Path) -> None:
        """NIST, FIPS 180-4 example: SHA-256 of one million times the letter a."""
        (tmp_path / "a").write_bytes(b"a" * 1_000_000)
        assert sha256(tmp_path / "a") == "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"

    def test_a_relative_path_becomes_absolute(self, click_wav: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.chdir(click_wav.parent)
        assert probe([Path(click_wav.name)]).files[0].path == str(click_wav)

    @pytest.mark.parametrize(
        ("name", "options", "codec"),
        [
            ("a.wav", ("-c:a", "pcm_s24le"), "pcm_s24le"),
            ("a.wav", ("-c:a", "pcm_f32le"), "pcm_f32le"),
            ("a.wav", ("-ar", "8000"), "pcm_s16le"),
            ("a.wav", ("-ar", "192000"), "pcm_s16le"),
            ("a.flac", (), "flac"),
            ("a.mp3", (), "mp3"),
            ("a.ogg", (), "vorbis"),
            ("a.opus", (), "opus"),
            ("a.m4a", (), "aac"),
            ("a.aiff", (), "pcm_s16be"),
            ("a.caf", ("-c:a", "alac"), "alac"),
            ("a.ac3", ("-ac", "6"), "ac3"),
            ("a.wma", (), "wmav2"),
        ],
    )
    def test_sound_alone(self, recording: Recording, name: str, options: tuple[str, ...], codec: str) -> None:
        take = probe([recording(name, *options, picture=None)])
        (file,) = take.files
        assert file.sound.codec == codec
        assert take.picture is None
        # Codecs add up to two frames of their own before and after; the longest here is 2048 / 48 kHz.
        assert 4000 <= file.duration_ms <= 4090
        if "-ar" in options:
            assert file.sound.sample_rate_hz == int(options[-1])

    @pytest.mark.parametrize("channels", [1, 2, 6])
    def test_channels(self, recording: Recording, channels: int) -> None:
        assert probe([recording("a.wav", "-ac", str(channels), picture=None)]).files[0].sound.channels == channels

    def test_the_default_sound_of_several_is_used(self, tmp_path: Path, click_wav: Path) -> None:
        ffmpeg("-i", click_wav, "-f", "lavfi", "-i", "sine=d=2:r=44100", "-map", "0", "-map", "1", "-c:a", "aac",
               "-disposition:a:0", "0", "-disposition:a:1", "default", tmp_path / "two.mkv")  # fmt: skip
        (file,) = probe([tmp_path / "two.mkv"]).files
        assert (file.sound.index, file.sound.sample_rate_hz, file.duration_ms) == (1, 44_100, 2000)

    def test_several_files_in_order(self, mp4: Path, click_wav: Path) -> None:
        take = probe([mp4, click_wav, mp4])
        assert [Path(file.path).name for file in take.files] == ["take.mp4", "clicks.wav", "take.mp4"]
        assert take.duration_ms == 12_000
        assert take.spans == (Span(0, 4000), Span(4000, 8000), Span(8000, 12_000))

    def test_progress(self, mp4: Path, click_wav: Path) -> None:
        said: list[float] = []
        probe([mp4, click_wav], said.append)
        assert said[-1] == pytest.approx(1.0)
        assert all(before <= after + 1e-9 for before, after in pairwise(said))

    def test_cancelled(self, mp4: Path) -> None:
        def stop(_: float) -> None:
            raise Cancelled("enough")

        with pytest.raises(Cancelled):
            probe([mp4], stop)


class TestPicture:
    @pytest.mark.parametrize(
        "rate", ["24000/1001", "24", "25", "30000/1001", "30", "50", "60000/1001", "60", "15", "25/2"]
    )
    @pytest.mark.parametrize("name", ["a.mp4", "a.mkv", "a.mov", "a.ts"])
    def test_exact_rates(self, recording: Recording, name: str, rate: str) -> None:
        path = recording(name, *H264, "-c:a", "aac", picture=f"color=s=64x64:r={rate}:d=4")
        picture = picture_of(path)
        assert picture.rate.per_second == Fraction(rate)
        assert picture.steady

    def test_a_phone_with_frames_left_out(self, recording: Recording) -> None:
        graph = "testsrc2=s=64x64:r=30:d=4,select='gt(random(1),0.3)'"
        picture = picture_of(recording("a.mp4", *H264, "-fps_mode", "vfr", "-c:a", "aac", picture=graph))
        assert (picture.rate, picture.steady) == (FrameRate(Fraction(30)), False)

    def test_jitter_below_half_a_frame_is_steady(self, recording: Recording) -> None:
        graph = "testsrc2=s=64x64:r=30:d=4,settb=1/90000,setpts='PTS+900*random(1)'"
        options = ("-fps_mode", "passthrough", "-enc_time_base", "1/90000", "-c:a", "aac")
        picture = picture_of(recording("a.mp4", *H264, *options, picture=graph))
        assert (picture.rate, picture.steady) == (FrameRate(Fraction(30)), True)

    @pytest.mark.parametrize(
        ("counterclockwise", "clockwise"), [(0, 0), (90, 270), (-90, 90), (180, 180), (270, 90), (-180, 180)]
    )
    def test_rotation(self, mp4: Path, tmp_path: Path, counterclockwise: int, clockwise: int) -> None:
        """ffmpeg's manual: -display_rotation is "the rotation in degrees counterclockwise" (from memory)."""
        ffmpeg("-display_rotation", str(counterclockwise), "-i", mp4, "-c", "copy", tmp_path / "a.mp4")
        picture = picture_of(tmp_path / "a.mp4")
        assert (picture.width, picture.height, picture.rotation_deg) == (320, 180, clockwise)

    def test_interlaced(self, recording: Recording) -> None:
        graph = "testsrc2=s=320x240:r=50:d=4,interlace"
        options = ("-c:v", "libx264", "-flags", "+ildct+ilme", "-pix_fmt", "yuv420p", "-c:a", "aac")
        picture = picture_of(recording("a.mp4", *options, picture=graph))
        assert (picture.interlaced, picture.rate, picture.steady) == (True, FrameRate(Fraction(25)), True)

    @pytest.mark.parametrize(
        ("name", "options", "codec", "pixels"),
        [
            ("a.mp4", ("-c:v", "libx265", "-x265-params", "log-level=none", "-pix_fmt", "yuv420p10le"), "hevc",
             "yuv420p10le"),
            ("a.mov", ("-c:v", "prores_ks", "-pix_fmt", "yuv422p10le"), "prores", "yuv422p10le"),
            ("a.webm", ("-c:v", "libvpx-vp9", "-pix_fmt", "yuv420p"), "vp9", "yuv420p"),
            ("a.avi", ("-c:v", "mjpeg", "-pix_fmt", "yuvj422p"), "mjpeg", "yuvj422p"),
        ],
    )  # fmt: skip
    def test_codecs(self, recording: Recording, name: str, options: tuple[str, ...], codec: str, pixels: str) -> None:
        picture = picture_of(recording(name, *options, picture="testsrc2=s=128x64:r=25:d=1"))
        assert (picture.codec, picture.pixel_format, picture.rate) == (codec, pixels, FrameRate(Fraction(25)))

    def test_pixels_that_are_not_square(self, recording: Recording) -> None:
        """HDV: 1440 x 1080 shown as 1920 x 1080 (SMPTE and HDV specification; from memory)."""
        path = recording("a.mp4", *H264, "-c:a", "aac", picture="color=s=1440x1080:r=25:d=1,setsar=4/3")
        picture = picture_of(path)
        assert (picture.width, picture.height) == (1920, 1080)

    def test_the_cover_of_an_album_is_no_picture(self, tmp_path: Path, click_wav: Path) -> None:
        ffmpeg("-f", "lavfi", "-i", "color=red:s=64x64", "-frames:v", "1", tmp_path / "cover.jpg")
        ffmpeg("-i", click_wav, "-i", tmp_path / "cover.jpg", "-map", "0", "-map", "1", "-c:v", "copy",
               "-disposition:v", "attached_pic", tmp_path / "a.mp3")  # fmt: skip
        take = probe([tmp_path / "a.mp3"])
        assert take.picture is None
        assert take.duration_ms >= 4000

    def test_one_still_picture(self, recording: Recording) -> None:
        picture = picture_of(recording("a.mkv", *H264, "-c:a", "aac", picture="color=red:s=64x64:r=1/5:d=4"))
        assert not picture.steady


class TestClock:
    def test_a_start_that_is_not_zero(self, recording: Recording) -> None:
        """ffmpeg's MPEG-TS starts at 1.4 s (its default -muxdelay and -muxpreload); the AAC priming is before that."""
        (file,) = probe([recording("a.ts", *H264, "-c:a", "aac")]).files
        assert 1400 <= file.start_ms <= 1500
        assert file.duration_ms == pytest.approx(4000, abs=50)

    def test_a_microphone_that_starts_late(self, recording: Recording) -> None:
        (file,) = probe([recording("a.mp4", *H264, "-c:a", "aac", before_sound=("-itsoffset", "0.5"))]).files
        assert (file.start_ms, file.duration_ms) == (0, 4500)

    def test_an_edit_list(self, mp4: Path, tmp_path: Path) -> None:
        """A copy without its first 0.7 s keeps them in the file, hidden by the edit list."""
        ffmpeg("-ss", "0.7", "-i", mp4, "-c", "copy", tmp_path / "a.mp4")
        (file,) = probe([tmp_path / "a.mp4"]).files
        assert (file.start_ms, file.duration_ms) == (0, 3300)
        assert file.picture and file.picture.steady

    @pytest.mark.parametrize("share", [0.3, 0.6, 0.9])
    @pytest.mark.parametrize("name", ["a.mp4", "a.mkv", "a.ts"])
    def test_broken_off_in_the_middle(self, recording: Recording, tmp_path: Path, name: str, share: float) -> None:
        """Only what is there counts, whatever the header says; the picture's grid is still known."""
        whole = recording(name, *H264, "-c:a", "aac", "-movflags", "+faststart")
        content = whole.read_bytes()
        (tmp_path / name).write_bytes(content[: round(len(content) * share)])
        (file,) = probe([tmp_path / name]).files
        assert 0.5 * share * 4000 < file.duration_ms < min(3950, 1.5 * share * 4000)
        assert file.picture
        assert (file.picture.rate.per_second, file.picture.steady) == (NTSC, True)

    def test_two_recordings_glued_together(self, recording: Recording, tmp_path: Path) -> None:
        part = recording("a.ts", *H264, "-c:a", "aac").read_bytes()
        (tmp_path / "both.ts").write_bytes(part + part)
        with pytest.raises(TakeError, match=r"clock jumps back after 0:0\d"):
            probe([tmp_path / "both.ts"])

    def test_a_clock_that_runs_away(self, recording: Recording) -> None:
        graph = "asetpts=if(gt(T\\,2)\\,PTS+90000*SR\\,PTS)"
        path = recording("a.mkv", "-af", graph, "-c:a", "pcm_s16le", picture=None)
        with pytest.raises(TakeError, match="it lasts 25 hours"):
            probe([path])


class TestRefused:
    """One clear error each, exit code 2, with the path."""

    def refused(self, path: Path, message: str) -> None:
        before = sorted(path.parent.iterdir()) if path.parent.is_dir() else []
        with pytest.raises(TakeError, match=message) as caught:
            probe([path])
        assert caught.value.exit_code == 2
        assert caught.value.where == str(path)
        assert caught.value.hint
        assert "@ 0x" not in str(caught.value)
        assert (sorted(path.parent.iterdir()) if path.parent.is_dir() else []) == before

    def test_nothing_given(self) -> None:
        with pytest.raises(TakeError, match="no recording was given"):
            probe([])

    def test_missing(self, tmp_path: Path) -> None:
        self.refused(tmp_path / "a.mp4", "there is no such file")
        self.refused(tmp_path / "no folder" / "a.mp4", "there is no such file")

    def test_a_folder(self, tmp_path: Path) -> None:
        self.refused(tmp_path, "a folder, not a recording")

    def test_empty(self, tmp_path: Path) -> None:
        (tmp_path / "a.mp4").touch()
        self.refused(tmp_path / "a.mp4", "empty")

    @pytest.mark.skipif(os.name != "posix", reason="named pipes")
    def test_a_pipe_is_not_waited_for(self, tmp_path: Path) -> None:
        os.mkfifo(tmp_path / "a.mp4")
        self.refused(tmp_path / "a.mp4", "not a file")

    def test_a_link_to_nowhere(self, tmp_path: Path) -> None:
        (tmp_path / "a.mp4").symlink_to(tmp_path / "gone.mp4")
        self.refused(tmp_path / "a.mp4", "there is no such file")

    def test_a_link_that_turns_in_circles(self, tmp_path: Path) -> None:
        (tmp_path / "a.mp4").symlink_to(tmp_path / "a.mp4")
        with pytest.raises(TakeError, match="cannot be read"):
            probe([tmp_path / "a.mp4"])

    def test_a_name_that_cannot_be(self) -> None:
        with pytest.raises(TakeError, match="no file can have this name"):
            probe([Path("a\0b.mp4")])

    def test_a_name_that_is_too_long(self, tmp_path: Path) -> None:
        with pytest.raises(TakeError, match="cannot be read"):
            probe([tmp_path / ("a" * 300)])

    def test_not_permitted(self, click_wav: Path) -> None:
        with TemporaryDirectory() as folder:  # the tests' own folders are closed to others altogether
            Path(folder).chmod(0o755)
            take = Path(folder) / "a.wav"
            take.write_bytes(click_wav.read_bytes())
            take.chmod(0)
            with as_nobody():
                assert take.stat().st_size, "the file is there to be seen"
                with pytest.raises(TakeError, match="cannot be read"):
                    probe([take])

    @pytest.mark.parametrize(
        ("name", "content"),
        [
            ("a.mp4", b"hello, this is a text\n" * 50),
            ("a.wav", b"RIFF\x10\0\0\0WAVE"),
            ("a.mp3", np.random.default_rng(9).bytes(100_000)),
            ("a.mp4", b"\0" * 100_000),
            ("a.mp4", b"%PDF-1.7\n" + b"x" * 1000),
            ("a.mp4", b"PK\x03\x04" + b"x" * 1000),
            ("a.mp4", b"1\n00:00:01,000 --> 00:00:02,000\nhello\n"),
            ("a.vtt", b"WEBVTT\n\n00:01.000 --> 00:02.000\nhello\n"),
            ("a.avs", b'DirectShowSource("a.mp4")\n'),
        ],
    )
    def test_not_media(self, tmp_path: Path, name: str, content: bytes) -> None:
        (tmp_path / name).write_bytes(content)
        self.refused(tmp_path / name, "not a recording")

    @pytest.mark.parametrize("name", ["a.png", "a.jpg", "a.bmp"])
    def test_a_photo(self, tmp_path: Path, name: str) -> None:
        ffmpeg("-f", "lavfi", "-i", "testsrc2=s=64x64", "-frames:v", "1", tmp_path / name)
        self.refused(tmp_path / name, "not a recording")

    @pytest.mark.parametrize(
        "content",
        [
            "#EXTM3U\n#EXT-X-TARGETDURATION:5\n#EXTINF:4,\n{}\n#EXT-X-ENDLIST\n",
            "\ufeff#EXTM3U\n{}\n",
            "ffconcat version 1.0\nfile {}\n",
            "[playlist]\nFile1={}\n",
            "[Reference]\nRef1={}\n",
            "<smil><body><video src='{}'/></body></smil>",
            "<?xml version='1.0'?>\n<MPD xmlns='urn:mpeg:dash:schema:mpd:2011'><BaseURL>{}</BaseURL></MPD>",
            "<?xml version='1.0'?>\n<playlist><trackList><track><location>{}</location></track></trackList></playlist>",
            "v=0\no=- 0 0 IN IP4 127.0.0.1\nm=audio 5004 RTP/AVP 0\n",
        ],
    )
    @pytest.mark.parametrize("target", ["secret.wav", "http://127.0.0.1:9/a.ts", "file:///etc/passwd"])
    @pytest.mark.parametrize("name", ["list.m3u8", "take.mp4"])
    def test_a_playlist(self, tmp_path: Path, click_wav: Path, content: str, target: str, name: str) -> None:
        (tmp_path / "secret.wav").write_bytes(click_wav.read_bytes())
        (tmp_path / name).write_text(content.format(target), encoding="utf-8")
        self.refused(tmp_path / name, "a playlist")

    def test_an_mp4_whose_sound_lies_elsewhere(self, tmp_path: Path, recording: Recording) -> None:
        """A data reference (dref) that names another file is not followed."""
        content = recording("plain.mov", "-c:a", "pcm_s16le", picture=None).read_bytes()
        at = content.index(b"dref")
        assert content[at + 16 : at + 20] == b"url "
        # The box says "in this file" by its flag; without it ffmpeg would look for a name.
        changed = content[: at + 20] + b"\0\0\0\0" + content[at + 24 :]
        (tmp_path / "a.mov").write_bytes(changed)
        assert probe([tmp_path / "a.mov"]).files[0].duration_ms == 4000

    def test_no_index(self, mp4: Path, tmp_path: Path) -> None:
        (tmp_path / "a.mp4").write_bytes(mp4.read_bytes()[:30_000])
        self.refused(tmp_path / "a.mp4", "cut off before it was closed")

    def test_an_index_that_is_damaged(self, mp4: Path, tmp_path: Path) -> None:
        content = mp4.read_bytes()
        at = content.index(b"moov") + 4
        (tmp_path / "a.mp4").write_bytes(content[:at] + np.random.default_rng(1).bytes(len(content) - at))
        with pytest.raises(TakeError) as caught:
            probe([tmp_path / "a.mp4"])
        assert caught.value.where == str(tmp_path / "a.mp4")

    def test_no_sound(self, tmp_path: Path) -> None:
        ffmpeg("-f", "lavfi", "-i", "testsrc2=s=64x64:d=1", tmp_path / "a.mp4")
        self.refused(tmp_path / "a.mp4", "no sound track")

    def test_sound_of_no_length(self, tmp_path: Path) -> None:
        write_wav(tmp_path / "a.wav", np.zeros(0, np.int16))
        self.refused(tmp_path / "a.wav", "sound track is empty|not a recording")

    @pytest.mark.parametrize(("length_ms", "fits"), [(200, False), (299, False), (300, True)])
    def test_too_short(self, tmp_path: Path, length_ms: int, fits: bool) -> None:
        path = write_wav(tmp_path / "a.wav", clicks([], length_ms / 1000))
        if fits:
            assert probe([path]).duration_ms == length_ms
        else:
            self.refused(path, f"lasts {length_ms} ms")

    def test_the_second_file_is_named(self, mp4: Path, tmp_path: Path) -> None:
        (tmp_path / "b.mp4").write_text("no")
        with pytest.raises(TakeError) as caught:
            probe([mp4, tmp_path / "b.mp4"])
        assert caught.value.where == str(tmp_path / "b.mp4")


@pytest.mark.skipif(os.name != "posix", reason="file names are bytes")
@pytest.mark.parametrize(
    "name",
    [b"-i.mp4", b"a b'c\"d.mp4", b"new\nline.mp4", b"http:x.mp4", b"100%d.mp4", b"caf\xe9.mp4", b"a" * 251 + b".mp4"],
)
def test_any_name_is_just_a_name(name: bytes, mp4: Path, tmp_path: Path) -> None:
    path = tmp_path / os.fsdecode(name)
    path.write_bytes(mp4.read_bytes())
    assert probe([path]).duration_ms == 4000
