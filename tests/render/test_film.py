"""The finished video, end to end: both clocks read off, streams and chapters asked of other readers."""

from __future__ import annotations

import subprocess
from collections.abc import Collection
from fractions import Fraction
from pathlib import Path

import av
import imageio_ffmpeg
import numpy as np
import pytest
from av.stream import Disposition

from lessoncut.errors import Cancelled
from lessoncut.outputs import named
from lessoncut.outputs.base import NotPossible, Written
from lessoncut.render import film
from lessoncut.render.bench import bench_in
from lessoncut.render.loudness import measure
from lessoncut.render.packets.copying import CannotCopy
from lessoncut.render.records import Wishes
from lessoncut.render.samples import RATE_HZ
from lessoncut.render.sound import sample_of
from tests.render import clock
from tests.render.lessons import Filmed, filmed, spoken
from tests.render.test_encoding import RATE_29_97
from tests.render.test_loudness import ebur128
from tests.take.making import ffmpeg

H264 = ("-c:v", "libx264", "-pix_fmt", "yuv420p", "-c:a", "aac", "-b:a", "192k")
GROUPS = (*H264, "-g", "15", "-bf", "2")


def written(lesson: Filmed, folder: Path, name: str = "lesson-video") -> tuple[Path, Written]:
    kind = named(name)
    path = folder / kind.file_name("lesson")
    with bench_in(folder) as bench:
        return path, kind.write(lesson.programme, path, bench)


def assert_in_sync(
    lesson: Filmed, video: Path, late_s: Fraction = Fraction(0), kept: Collection[int] | None = None
) -> None:
    """Every kept line: what is heard and what is seen come from the same moment of the take, to half a frame, and to
    a tenth where its frames are steady.

    Picture ``n`` of the take stands at ``n / rate + late_s``; where only some are ``kept``, each until the next.
    """
    rate = lesson.timeline.rate.per_second
    numbers, sound = clock.pictures(video), clock.sound_in(video)
    assert len(numbers) == lesson.timeline.frames
    for mark in lesson.marks.items:
        for share in (0.1, 0.5, 0.9):
            at_ms = round(mark.lesson_span.start_ms + share * (mark.lesson_span.length_ms - 200))
            start = at_ms * RATE_HZ // 1000
            heard, alike = clock.found_at(sound[start : start + RATE_HZ // 5], lesson.spoken)
            assert alike > 0.8, f"{mark.text} at {at_ms} ms"
            frame = int(at_ms * rate / 1000)
            begins = (Fraction(heard, RATE_HZ) - Fraction(at_ms, 1000) + frame / rate - late_s) * rate
            slack = Fraction(1, 2) + rate / 1000
            if kept is None:
                assert abs(numbers[frame] - begins) <= Fraction(1, 10), f"{mark.text} at {at_ms} ms"
            else:
                on_screen = {max(n for n in kept if n <= at) for at in (begins - slack, begins, begins + slack)}
                assert numbers[frame] in on_screen, f"{mark.text} at {at_ms} ms"


@pytest.mark.parametrize("rate", [RATE_29_97, Fraction(25), Fraction(60000, 1001)], ids=str)
@pytest.mark.parametrize("groups", ["15", "600"])
def test_sound_and_picture_stay_together(tmp_path: Path, rate: Fraction, groups: str) -> None:
    lesson = filmed(tmp_path, *H264, "-g", groups, "-keyint_min", groups, "-bf", "2", rate=rate)
    video, result = written(lesson, tmp_path)
    assert ("was copied" if groups == "15" else "encoded anew") in result.remarks[0]
    assert_in_sync(lesson, video)


def test_a_take_with_an_edit_list(tmp_path: Path) -> None:
    """Cut by a recorder that keeps the frames before the cut in the file."""
    before_s = Fraction(7, 10)
    sound = np.concatenate((clock.noise(1.7, seed=3)[: round(before_s * RATE_HZ)], spoken()))
    whole = clock.take(tmp_path / "whole.mp4", *GROUPS, length_s=23.7, sound=sound)
    path = tmp_path / "cut.mp4"
    ffmpeg("-ss", "0.7", "-i", whole, "-c", "copy", "-avoid_negative_ts", "disabled", path)
    lesson = filmed(tmp_path, path=path)
    video, _ = written(lesson, tmp_path)
    assert_in_sync(lesson, video, late_s=-before_s)


def test_a_take_that_does_not_begin_at_zero(tmp_path: Path) -> None:
    first = clock.take(tmp_path / "first.mp4", *GROUPS, length_s=23, sound=spoken())
    path = tmp_path / "take.ts"
    ffmpeg("-i", first, "-c", "copy", "-output_ts_offset", "7.3", path)
    lesson = filmed(tmp_path, path=path)
    assert lesson.take.files[0].start_ms > 7000
    video, _ = written(lesson, tmp_path)
    assert_in_sync(lesson, video)


@pytest.mark.parametrize("late_s", ["0.05", "0.24"])
@pytest.mark.parametrize("copying", [True, False])
def test_a_picture_that_begins_late(
    tmp_path: Path, late_s: str, copying: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By a frame and a half, and by 7.2 frames: the sound is moved by what the grid cannot say."""
    first = clock.take(tmp_path / "first.mp4", *GROUPS, length_s=23, sound=spoken())
    path = tmp_path / "take.mp4"
    ffmpeg("-itsoffset", late_s, "-i", first, "-i", first, "-map", "0:v", "-map", "1:a", "-c", "copy", path)
    lesson = filmed(tmp_path, path=path)
    if not copying:
        monkeypatch.setattr(film, "planned", refuse)
    video, result = written(lesson, tmp_path)
    assert ("was copied" in result.remarks[0]) is copying
    assert_in_sync(lesson, video, late_s=Fraction(late_s))


def test_a_variable_rate(tmp_path: Path) -> None:
    choose = "select='not(mod(n,2))+between(n,60,300)'"
    lesson = filmed(tmp_path, *H264, "-vf", choose, "-fps_mode", "vfr")
    assert lesson.take.picture and not lesson.take.picture.steady
    video, result = written(lesson, tmp_path)
    assert "the frames are not steady" in result.remarks[0]
    kept = [n for n in range(690) if n % 2 == 0 or 60 <= n <= 300]
    assert_in_sync(lesson, video, kept=kept)


def test_a_turned_take(tmp_path: Path) -> None:
    plain = clock.take(tmp_path / "plain.mp4", *GROUPS, length_s=23, sound=spoken(), turned=3)
    path = tmp_path / "turned.mp4"
    ffmpeg("-display_rotation", "90", "-i", plain, "-c", "copy", path)
    lesson = filmed(tmp_path, path=path)
    video, result = written(lesson, tmp_path)
    assert "was copied" in result.remarks[0]
    assert clock.size_of(video) == (clock.WIDTH, clock.HEIGHT)
    assert_in_sync(lesson, video)


def test_gaps_are_as_long_as_the_gap_sheet_says(tmp_path: Path) -> None:
    lesson = filmed(tmp_path, *GROUPS)
    video, _ = written(lesson, tmp_path)
    sound = np.abs(clock.sound_in(video)[:, 0])
    loud = np.convolve(sound, np.ones(480) / 480, "same") > 0.02
    for mark in lesson.marks.items:
        gap = mark.gap.lesson_span
        if mark.gap.kind == "repeat":
            middle = gap.middle_ms * 48
            end = middle - int(np.argmax(loud[:middle][::-1]))
            start = middle + int(np.argmax(loud[middle:]))
            assert (start - end) / 48 == pytest.approx(gap.length_ms, abs=1000 / 30)


def test_what_is_in_the_file(tmp_path: Path) -> None:
    lesson = filmed(tmp_path, *GROUPS)
    video, result = written(lesson, tmp_path)
    assert result.paths == (video,)
    with av.open(str(video)) as container:
        kinds = [stream.type for stream in container.streams]
        assert kinds[:3] == ["video", "audio", "subtitle"]
        assert container.streams.video[0].codec_context.name == "h264"
        assert container.streams.video[0].frames == lesson.timeline.frames
        assert [container.streams.audio[0].language, container.streams.subtitles[0].language] == ["eng", "eng"]
        assert container.metadata["title"] == lesson.programme.title
        # Captions are there and off: neither default nor forced, as ffprobe calls it (the same reader).
        unasked = Disposition.default | Disposition.forced
        assert [bool(stream.disposition & unasked) for stream in list(container.streams)[:3]] == [True, True, False]
        chapters = [
            (chapter["start"] * chapter["time_base"], chapter["metadata"]["title"]) for chapter in container.chapters()
        ]
        wanted = [(Fraction(part.span.start_ms, 1000), part.title) for part in lesson.programme.parts]
        assert chapters == wanted
        cues = [bytes(packet) for packet in container.demux(container.streams.subtitles[0]) if packet.size > 2]
    assert len(cues) == len(lesson.programme.captions.cues)
    assert b"Hello, and welcome." in cues[0]
    samples = len(clock.sound_in(video))
    assert abs(samples - sample_of(lesson.timeline.frames, lesson.timeline.rate)) <= 1024
    loudness = ebur128(clock.sound_in(video))
    assert loudness["I"] == pytest.approx(-19, abs=0.5)
    assert loudness["Peak"] <= -1


def test_a_copied_and_an_encoded_video_look_alike(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    lesson = filmed(tmp_path, *GROUPS)
    copied, _ = written(lesson, tmp_path)
    first = list(clock.frames_of(copied))
    monkeypatch.setattr(film, "planned", refuse)
    encoded, result = written(lesson, tmp_path)
    assert "encoded anew, since it is Monday" in result.remarks[0]
    for one, other in zip(first, clock.frames_of(encoded), strict=True):
        assert float(np.mean((one.astype(float) - other) ** 2)) < 30


def test_a_copied_picture_that_not_everything_plays_is_told() -> None:
    assert film.copied_says(90, 100, "yuv420p").endswith("encoded anew.")
    assert "90 of 100 frames" in film.copied_says(90, 100, "yuv420p")
    assert "yuv422p10le" in film.copied_says(90, 100, "yuv422p10le")


def refuse(*_: object) -> None:
    raise CannotCopy("it is Monday")


def test_a_result_that_does_not_stand_the_check_is_encoded(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    lesson = filmed(tmp_path, *GROUPS)
    monkeypatch.setattr(film, "check_joins", refuse)
    steps: list[float] = []
    with bench_in(tmp_path) as bench:
        result = named("lesson-video").write(lesson.programme, tmp_path / "v.mp4", bench, steps.append)
    assert "encoded anew" in result.remarks[0]
    assert steps == sorted(steps)
    assert steps[-1] == 1.0
    assert_in_sync(lesson, tmp_path / "v.mp4")


@pytest.mark.parametrize(("share", "copying"), [(0.05, True), (0.5, True), (0.97, True), (0.6, False)])
def test_a_cancelled_export_leaves_nothing(tmp_path: Path, share: float, copying: bool) -> None:
    lesson = filmed(tmp_path, *(GROUPS if copying else (*H264, "-g", "600", "-keyint_min", "600")))
    out = tmp_path / "out"
    out.mkdir()

    def stop(done: float) -> None:
        if done >= share:
            raise Cancelled("enough")

    with pytest.raises(Cancelled), bench_in(out) as bench:
        named("lesson-video").write(lesson.programme, out / "v.mp4", bench, stop)
    assert list(out.iterdir()) == []


def test_a_take_without_a_picture_has_no_video_but_a_sound(tmp_path: Path) -> None:
    lesson = filmed(tmp_path, "-vn", name="take.m4a")
    with pytest.raises(NotPossible, match="no picture"):
        written(lesson, tmp_path)
    sound, _ = written(lesson, tmp_path, "lesson-sound")
    heard = clock.sound_in(sound)
    assert abs(len(heard) - sample_of(lesson.timeline.frames, lesson.timeline.rate)) <= 1024
    first = lesson.marks.items[0].lesson_span.start_ms * 48
    at, alike = clock.found_at(heard[first + 4800 : first + 24_000], lesson.spoken)
    assert alike > 0.8
    assert at / 48 == pytest.approx(500 + 100, abs=5)


def test_loudness_off_leaves_the_level(tmp_path: Path) -> None:
    lesson = filmed(tmp_path, *GROUPS, wishes=Wishes(loudness="off"))
    video, _ = written(lesson, tmp_path)
    level = measure([lesson.spoken]).integrated_lufs
    assert ebur128(clock.sound_in(video))["I"] == pytest.approx(level, abs=1.0)


def test_a_high_pass_takes_rumble_away(tmp_path: Path) -> None:
    at = np.arange(23 * RATE_HZ) / RATE_HZ
    rumble = spoken() + (0.05 * np.sin(2 * np.pi * 25 * at)).astype(np.float32)[:, None]
    quiet = []
    for high_pass in (False, True):
        lesson = filmed(tmp_path, "-vn", name=f"{high_pass}.wav", sound=rumble,
                        wishes=Wishes(high_pass=high_pass, loudness="off"))  # fmt: skip
        sound, _ = written(lesson, tmp_path, "lesson-sound")
        gap = next(mark.gap.lesson_span for mark in lesson.marks.items if mark.gap.kind == "repeat")
        heard = clock.sound_in(sound)[gap.middle_ms * 48 - 9600 : gap.middle_ms * 48 + 9600]
        quiet.append(float(np.sqrt((heard**2).mean())))
    assert 20 * np.log10(quiet[0] / quiet[1]) > 15


def test_the_prompt_is_drawn_into_the_gaps_only(tmp_path: Path) -> None:
    odd = tmp_path / "a folder, with: 'odd' [signs]; 100%"
    odd.mkdir()
    lesson = filmed(odd, *GROUPS, wishes=Wishes(prompt=True))
    video, result = written(lesson, odd)
    assert "since the prompt is drawn into it" in result.remarks[0]
    gap = next(mark.gap for mark in lesson.marks.items if mark.gap.kind == "repeat")
    frames = list(clock.frames_of(video))
    inside, outside = frames[(gap.lesson_in + gap.lesson_out) // 2], frames[gap.lesson_in - 12]
    # The line stands in a black box, and the bar is white, at the foot of the picture.
    assert inside[74:84, 60:100].min() < 30
    assert inside[87:90, 42:50].max() > 230
    assert outside[74:84, 60:100].min() > 40


def test_the_prompt_fits_into_a_picture_that_stands_upright(tmp_path: Path) -> None:
    grey = ("-vf", "scale=216:384,lutyuv=y=128:u=128:v=128")
    lesson = filmed(tmp_path, *GROUPS, *grey, wishes=Wishes(prompt=True))
    video, _ = written(lesson, tmp_path)
    frames = list(clock.frames_of(video))
    for gap in (mark.gap for mark in lesson.marks.items if mark.gap.kind == "repeat"):
        inside = frames[(gap.lesson_in + gap.lesson_out) // 2].astype(int)
        rows, columns = np.nonzero(np.abs(inside - 128) > 60)
        assert len(rows) > 500
        assert columns.min() >= 2
        assert columns.max() <= 213
        assert rows.max() <= 381


def test_ffmpeg_plays_the_whole_file_without_a_word(tmp_path: Path) -> None:
    lesson = filmed(tmp_path, *GROUPS)
    video, _ = written(lesson, tmp_path)
    done = subprocess.run(
        [imageio_ffmpeg.get_ffmpeg_exe(), "-v", "warning", "-i", video, "-f", "null", "-"],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert done.stderr == ""
