from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import av
import numpy as np
import pytest

from lessoncut.errors import Cancelled
from lessoncut.take import preview
from lessoncut.take.decode import decode
from lessoncut.take.probe import probe
from lessoncut.take.records import Picture, Take
from tests.take.conftest import Recording
from tests.take.making import ffmpeg, found_clicks_ms

H264 = ("-c:v", "libx264", "-pix_fmt", "yuv420p")
FLASH_S = 2.0
FLASH = f"color=black:s=128x72:r=25:d=4,drawbox=c=white:t=fill:enable='gte(t,{FLASH_S})*lt(t,{FLASH_S}+0.3)'"


def written(into: Path, *paths: Path) -> Path:
    take = probe(paths)
    made = into / f"preview{preview.suffix(take)}"
    preview.write(take, made)
    return made


def picture_of(path: Path) -> Picture:
    picture = probe([path]).picture
    assert picture
    return picture


def flashes_ms(path: Path) -> list[float]:
    """When the picture turns from dark to light, as PyAV decodes it."""
    with av.open(str(path)) as container:
        frames = [
            (frame.time or 0.0, frame.to_ndarray(format="gray").mean() > 60) for frame in container.decode(video=0)
        ]
    return [after[0] * 1000 for before, after in pairwise(frames) if after[1] and not before[1]]


class TestNeed:
    @pytest.mark.parametrize(
        ("name", "options", "with_picture"),
        [
            ("a.mp4", (*H264, "-c:a", "aac"), True),
            ("a.webm", ("-c:v", "libvpx", "-cpu-used", "8", "-deadline", "realtime", "-c:a", "libopus"), True),
            ("a.m4a", (), False),
            ("a.wav", (), False),
            ("a.flac", (), False),
        ],
    )
    def test_what_browsers_play_is_left_alone(
        self, recording: Recording, name: str, options: tuple[str, ...], with_picture: bool
    ) -> None:
        path = recording(name, *options, picture=FLASH if with_picture else None)
        assert preview.why_needed(probe([path])) is None

    @pytest.mark.parametrize(
        ("name", "options", "graph", "reason"),
        [
            ("a.mov", (*H264, "-c:a", "aac"), FLASH, "not sure to open .mov"),
            ("a.mkv", (*H264, "-c:a", "aac"), FLASH, "not sure to open .mkv"),
            ("a.mp3", (), None, "not sure to open .mp3"),
            ("a.wav", ("-c:a", "pcm_s24le"), None, "pcm_s24le in .wav"),
            ("a.wav", ("-ac", "6"), None, "6 channels"),
            ("a.mp4", ("-c:v", "libx265", "-x265-params", "log-level=none"), FLASH, "hevc with aac in .mp4"),
            ("a.mp4", ("-c:v", "libx264", "-pix_fmt", "yuv422p10le"), FLASH, "yuv422p10le pictures"),
            ("a.mp4", (*H264, "-flags", "+ildct"), "color=s=64x64:r=50:d=4,interlace", "interlaced"),
            ("a.mp4", (*H264, "-fps_mode", "vfr"), f"{FLASH},select='gt(random(1),0.3)'", "not steady"),
        ],
    )
    def test_what_they_may_not_play(
        self, recording: Recording, name: str, options: tuple[str, ...], graph: str | None, reason: str
    ) -> None:
        why = preview.why_needed(probe([recording(name, *options, picture=graph)]))
        assert why and reason in why

    def test_several_files_become_one(self, mp4: Path) -> None:
        assert preview.why_needed(probe([mp4, mp4])) == "the take is several files"

    def test_a_clock_that_does_not_start_at_zero(self, mp4: Path) -> None:
        (file,) = probe([mp4]).files
        assert preview.why_needed(Take((replace(file, start_ms=40),))) == "its clock does not start at 0"

    def test_a_name_without_a_suffix(self, mp4: Path, tmp_path: Path) -> None:
        (tmp_path / "take").write_bytes(mp4.read_bytes())
        why = preview.why_needed(probe([tmp_path / "take"]))
        assert why and "without a suffix" in why


class TestPicture:
    @pytest.mark.parametrize("rate", ["30000/1001", "25", "50"])
    def test_any_browser_plays_it(self, recording: Recording, tmp_path: Path, rate: str) -> None:
        source = recording("a.mov", "-c:v", "mjpeg", "-c:a", "pcm_s16le", picture=f"testsrc2=s=160x90:r={rate}:d=4")
        made = written(tmp_path, source)
        take = probe([made])
        assert preview.why_needed(take) is None
        assert take.picture and take.picture.rate == picture_of(source).rate
        assert take.duration_ms == 4000
        content = made.read_bytes()
        assert content.index(b"moov") < content.index(b"mdat")
        with av.open(str(made)) as container:
            video = container.streams.video[0]
            assert video.profile in ("Baseline", "Constrained Baseline")
            keys = [float(packet.pts * packet.time_base) for packet in container.demux(video)
                    if packet.is_keyframe and packet.pts is not None]  # fmt: skip
        assert keys[0] == 0
        assert all(after - before < 1.01 for before, after in pairwise(keys))
        assert len(keys) == 4

    @pytest.mark.parametrize(
        ("size", "becomes"),
        [
            ("1920x1080", (1280, 720)),
            ("1080x1920", (720, 1280)),
            ("640x360", (640, 360)),
            ("641x361", (640, 360)),
            ("2000x500", (1280, 320)),
            ("800x800", (720, 720)),
        ],
    )
    def test_size(self, recording: Recording, tmp_path: Path, size: str, becomes: tuple[int, int]) -> None:
        source = recording("a.mkv", "-c:v", "mjpeg", "-c:a", "flac", picture=f"color=s={size}:r=10:d=1,format=yuvj444p")
        picture = picture_of(written(tmp_path, source))
        assert (picture.width, picture.height) == becomes

    def test_pixels_become_square(self, recording: Recording, tmp_path: Path) -> None:
        graph = "color=s=720x576:r=25:d=1,setsar=64/45"
        source = recording("a.mkv", *H264, "-c:a", "flac", picture=graph)
        picture = picture_of(written(tmp_path, source))
        # PAL 720 x 576 shown at 16:9 is 1024 x 576 (ITU-R BT.601 sampling; from memory).
        assert (picture.width, picture.height) == (1024, 576)

    def test_a_turned_phone(self, mp4: Path, tmp_path: Path) -> None:
        ffmpeg("-display_rotation", "-90", "-i", mp4, "-c", "copy", tmp_path / "a.mov")
        picture = picture_of(written(tmp_path, tmp_path / "a.mov"))
        assert (picture.width, picture.height, picture.rotation_deg) == (180, 320, 0)

    def test_unsteady_frames_become_steady_where_they_were(self, recording: Recording, tmp_path: Path) -> None:
        graph = f"{FLASH},select='not(eq(mod(n,7),3))'"
        made = written(tmp_path, recording("a.mp4", *H264, "-fps_mode", "vfr", "-c:a", "aac", picture=graph))
        assert picture_of(made).steady
        assert flashes_ms(made) == pytest.approx([2000], abs=40)

    def test_interlaced_becomes_progressive(self, recording: Recording, tmp_path: Path) -> None:
        graph = "testsrc2=s=128x96:r=50:d=2,interlace"
        source = recording("a.mp4", *H264, "-flags", "+ildct+ilme", "-c:a", "aac", picture=graph)
        picture = picture_of(written(tmp_path, source))
        assert (picture.interlaced, picture.rate, picture.steady) == (False, picture_of(source).rate, True)


class TestClock:
    """The flash and the clicks stand at the same take times in the preview as in the decoded sound."""

    @pytest.mark.parametrize("name", ["a.mov", "a.mkv", "a.ts"])
    def test_one_file(self, recording: Recording, tmp_path: Path, name: str) -> None:
        take = probe([recording(name, *H264, "-c:a", "aac", picture=FLASH)])
        made = written(tmp_path, Path(take.files[0].path))
        clicks_ms = found_clicks_ms(decode(take, tmp_path / "take.npy"))
        assert found_clicks_ms(decode(probe([made]), tmp_path / "made.npy")) == pytest.approx(clicks_ms, abs=2)
        # The flash is 1 s after the first click in the recording; the preview's grid may show it up to a frame later.
        assert flashes_ms(made) == [pytest.approx(clicks_ms[0] + 1000, abs=41)]

    def test_several_files_of_different_kinds(self, recording: Recording, click_wav: Path, tmp_path: Path) -> None:
        first = recording("a.mp4", *H264, "-c:a", "aac", picture=FLASH)
        odd = FLASH.replace("r=25", "r=30000/1001").replace("128x72", "96x96")
        second = recording("a.ts", *H264, "-c:a", "aac", picture=odd)
        paths = [first, click_wav, second, first, click_wav]
        take, made = probe(paths), written(tmp_path, *paths)
        result = probe([made])
        assert result.duration_ms == pytest.approx(take.duration_ms, abs=1)
        assert result.picture and result.picture.steady
        clicks_ms = found_clicks_ms(decode(take, tmp_path / "take.npy"))
        assert found_clicks_ms(decode(result, tmp_path / "made.npy")) == pytest.approx(clicks_ms, abs=2)
        assert len(clicks_ms) == 10
        assert flashes_ms(made) == pytest.approx([clicks_ms[index] + 1000 for index in (0, 4, 6)], abs=41)

    def test_a_picture_that_ends_before_the_sound_is_held(self, recording: Recording, tmp_path: Path) -> None:
        made = written(tmp_path, recording("a.mov", *H264, "-c:a", "aac", picture="color=white:s=64x64:r=25:d=1"))
        with av.open(str(made)) as container:
            frames = [frame.to_ndarray(format="gray").mean() for frame in container.decode(video=0)]
        assert len(frames) == 100
        assert np.min(frames) > 200


class TestSoundAlone:
    @pytest.mark.parametrize(("name", "options"), [("a.mp3", ()), ("a.wav", ("-ac", "6", "-c:a", "pcm_s24le"))])
    def test_it_is_an_m4a(self, recording: Recording, tmp_path: Path, name: str, options: tuple[str, ...]) -> None:
        source = recording(name, *options, picture=None)
        made = written(tmp_path, source)
        assert made.suffix == ".m4a"
        result = probe([made])
        assert preview.why_needed(result) is None
        assert found_clicks_ms(decode(result, tmp_path / "made.npy")) == pytest.approx([1000, 2500], abs=2)


class TestWriting:
    def test_progress_and_nothing_left_beside(self, mp4: Path, tmp_path: Path) -> None:
        said: list[float] = []
        preview.write(probe([mp4]), tmp_path / "a.mp4", said.append)
        assert said == sorted(said)
        assert said[-1] == 1.0
        assert [path.name for path in tmp_path.iterdir()] == ["a.mp4"]

    def test_cancelled(self, mp4: Path, tmp_path: Path) -> None:
        (tmp_path / "a.mp4").write_text("the one before")

        def stop(_: float) -> None:
            raise Cancelled("enough")

        with pytest.raises(Cancelled):
            preview.write(probe([mp4]), tmp_path / "a.mp4", stop)
        assert [path.name for path in tmp_path.iterdir()] == ["a.mp4"]
        assert (tmp_path / "a.mp4").read_text() == "the one before"

    def test_what_the_recording_says_of_its_place_stays_out(self, mp4: Path, tmp_path: Path) -> None:
        ffmpeg("-i", mp4, "-c", "copy", "-movflags", "use_metadata_tags", "-metadata", "location=+12.3456-065.4321/",
               tmp_path / "a.mov")  # fmt: skip
        assert b"12.3456" in (tmp_path / "a.mov").read_bytes()
        assert b"12.3456" not in written(tmp_path, tmp_path / "a.mov").read_bytes()
