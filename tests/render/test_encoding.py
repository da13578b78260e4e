"""The picture made anew, read off the clock in its pixels."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from lessoncut.errors import Cancelled
from lessoncut.render.encoding import encode, whole_look
from lessoncut.render.packets.joining import join_files
from lessoncut.render.shots import Held, Played, Shot, shots_of, strips_of
from lessoncut.take.probe import probe
from lessoncut.timeline.grid import grid_rate
from lessoncut.timeline.records import Timeline
from lessoncut.times import FrameRate
from tests.render import clock
from tests.render.sounding import timeline
from tests.take.making import ffmpeg, write_wav

RATE_29_97 = Fraction(30000, 1001)
RATE_25 = FrameRate(Fraction(25))


def made(paths: list[Path], edits: list[tuple[int, ...]], folder: Path) -> tuple[Path, Timeline]:
    take = probe(paths)
    lesson = timeline(grid_rate(take), *edits, files=len(paths))
    shots = shots_of(strips_of(lesson))
    shot_files = encode(take, lesson.rate, shots, folder, whole_look(take))
    into = folder / "picture.mov"
    expected = join_files(shot_files, [shot.frames for shot in shots], lesson.rate, into)
    assert expected.frames == lesson.frames
    return into, lesson


def wanted(lesson: Timeline) -> list[int]:
    """The take frame that stands at every lesson frame."""
    out: list[int] = []
    for strip in strips_of(lesson):
        out += range(strip.first, strip.last) if isinstance(strip, Played) else [strip.frame] * strip.frames
    return out


EDITS: list[tuple[int, ...]] = [
    (0, 12, 40), (0, 60, 61), (0, 100, 15, 0), (0, 101, 130), (0, 129, 20, 0), (0, 5, 30), (0, 31, 10, 0),
    (0, 200, 236), (0, 200, 9, 0),
]  # fmt: skip


def test_shots_take_held_frames_with_them() -> None:
    strips = (Played(0, 0, 5), Held(0, 4, 3), Played(0, 9, 12), Held(0, 19, 2), Played(0, 20, 22), Held(0, 7, 4))
    assert shots_of(strips) == (
        Shot(0, 0, 5, after=3), Shot(0, 9, 12), Shot(0, 19, 22, before=1), Shot(0, 7, 8, before=3),
    )  # fmt: skip
    assert shots_of((Held(0, 20, 3), Played(0, 20, 22))) == (Shot(0, 20, 22, before=3),)
    assert sum(shot.frames for shot in shots_of(strips)) == 5 + 3 + 3 + 2 + 2 + 4


def test_stretches_that_run_on_are_one_strip() -> None:
    lesson = timeline(RATE_25, (0, 3, 9), (0, 9, 20), (0, 19, 4, 0), (0, 19, 5, 0), (0, 20, 25))
    assert strips_of(lesson) == (Played(0, 3, 20), Held(0, 19, 9), Played(0, 20, 25))


@pytest.mark.parametrize("rate", [RATE_29_97, Fraction(25), Fraction(60000, 1001)], ids=str)
def test_every_frame_is_the_one_of_the_timeline(tmp_path: Path, rate: Fraction) -> None:
    path = clock.take(tmp_path / "take.mp4", "-c:v", "libx264", "-g", "40", "-bf", "2", rate=rate, length_s=10)
    picture, lesson = made([path], EDITS, tmp_path)
    assert clock.pictures(picture) == wanted(lesson)


@pytest.mark.parametrize(
    ("name", "options"),
    [
        ("take.mkv", ("-c:v", "libx264", "-g", "250")),
        ("take.webm", ("-c:v", "libvpx", "-c:a", "libopus", "-deadline", "realtime")),
        ("take.ts", ("-c:v", "mpeg2video", "-q:v", "4", "-g", "12", "-bf", "2", "-c:a", "mp2")),
        ("mjpeg.mov", ("-c:v", "mjpeg", "-q:v", "3")),
        ("take.mov", ("-c:v", "prores_ks", "-profile:v", "0")),
        ("hevc.mp4", ("-c:v", "libx265", "-x265-params", "log-level=error:keyint=30:open-gop=1")),
    ],
)
def test_other_forms(tmp_path: Path, name: str, options: tuple[str, ...]) -> None:
    path = clock.take(tmp_path / name, *options)
    picture, lesson = made([path], EDITS, tmp_path)
    assert clock.pictures(picture) == wanted(lesson)


def test_a_picture_that_begins_late_is_held_from_the_start(tmp_path: Path) -> None:
    # The picture begins 0.25 s (7.5 frames) after the sound: half a frame lies between the clock and the grid.
    path = clock.take(
        tmp_path / "late.mp4", "-c:v", "libx264", "-bf", "2", "-vf", "setpts=PTS+0.25/TB", "-fps_mode", "vfr"
    )
    picture, lesson = made([path], [(0, 0, 20), (0, 100, 120)], tmp_path)
    late = clock.pictures(picture)
    off = {frame - number for frame, number in zip(wanted(lesson), late, strict=True) if number}
    assert off in ({7}, {8})
    assert late[:7] == [0] * 7


def test_a_picture_that_ends_early_is_held_to_the_end(tmp_path: Path) -> None:
    path = clock.take(tmp_path / "short.mp4", "-c:v", "libx264", sound=clock.noise(10))
    picture, _ = made([path], [(0, 230, 250), (0, 270, 280), (0, 280, 12, 0), (0, 10, 20)], tmp_path)
    assert clock.pictures(picture) == [*range(230, 240), *[239] * 32, *range(10, 20)]


@pytest.mark.parametrize("turned", [1, 2, 3])
def test_a_turned_picture_is_upright(tmp_path: Path, turned: int) -> None:
    plain = clock.take(tmp_path / "plain.mp4", "-c:v", "libx264", turned=turned)
    path = tmp_path / "turned.mp4"
    ffmpeg("-display_rotation", str(-90 * turned), "-i", plain, "-c", "copy", path)
    assert probe([path]).files[0].picture.rotation_deg == 90 * turned  # type: ignore[union-attr]
    picture, lesson = made([path], EDITS, tmp_path)
    assert clock.size_of(picture) == (clock.WIDTH, clock.HEIGHT)
    assert clock.pictures(picture) == wanted(lesson)


def test_files_of_unlike_size_and_rate_come_into_one_picture(tmp_path: Path) -> None:
    first = clock.take(tmp_path / "a.mp4", "-c:v", "libx264")
    second = clock.take(tmp_path / "b.mkv", "-vf", "scale=320:192", "-c:v", "libx264", rate=Fraction(60))
    tall = clock.take(tmp_path / "c.mp4", "-vf", "scale=80:96", "-c:v", "libx264", rate=Fraction(15))
    picture, _ = made([first, second, tall], [(0, 10, 20), (1, 10, 20), (2, 30, 40), (1, 99, 5, 0)], tmp_path)
    frames = list(clock.frames_of(picture))
    numbers = [clock.read_off(frame) for frame in frames[:20]] + [clock.read_off(frames[-1])]
    assert numbers == [*range(10, 20), *range(20, 40, 2), 198]
    # The tall one stands in the middle; beside it is black.
    assert [clock.read_off(frame[:, 40:120]) for frame in frames[20:30]] == [n // 2 for n in range(30, 40)]
    assert all(frame[:, :36].max() < 24 for frame in frames[20:30])


def test_a_file_without_a_picture_is_black(tmp_path: Path) -> None:
    first = clock.take(tmp_path / "a.mp4", "-c:v", "libx264")
    second = write_wav(tmp_path / "b.wav", (clock.noise(4) * 30000).astype("int16"))
    picture, _ = made([first, second], [(0, 10, 20), (1, 10, 20), (0, 20, 22)], tmp_path)
    frames = list(clock.frames_of(picture))
    assert all(frame.max() < 24 for frame in frames[10:20])
    assert clock.read_off(frames[-1]) == 21


def test_variable_rate_shows_what_was_on_screen(tmp_path: Path) -> None:
    """A recorder that drops two frames of three, or none, as it likes."""
    kept = [n for n in range(240) if n % 3 == 0 or 90 <= n < 150]
    choose = "not(mod(n,3))+between(n,90,149)"
    path = clock.take(tmp_path / "v.mp4", "-vf", f"select='{choose}'", "-fps_mode", "vfr", "-c:v", "libx264")
    take = probe([path])
    assert take.picture and not take.picture.steady
    picture, lesson = made([path], EDITS, tmp_path)
    rate, seen = lesson.rate.per_second, clock.pictures(picture)
    for frame, number in zip(wanted(lesson), seen, strict=True):
        at, slack = frame / rate * 30, Fraction(1, 2)
        around = {max(k for k in kept if k <= max(Fraction(0), near)) for near in (at - slack, at, at + slack)}
        assert number in around


def test_stopping_ends_the_encoders(tmp_path: Path) -> None:
    path = clock.take(tmp_path / "take.mp4", "-c:v", "libx264")
    take = probe([path])

    def stop(_: float) -> None:
        raise Cancelled("enough")

    with pytest.raises(Cancelled):
        encode(take, grid_rate(take), (Shot(0, 0, 240),) * 50, tmp_path, whole_look(take), progress=stop)
    assert len(list(tmp_path.glob("shot-*.mov"))) < 40
