"""A few seconds of the lesson: the same pictures and sounds as in the whole."""

from __future__ import annotations

import os
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from lessoncut.render.bench import bench_in
from lessoncut.render.glance import clipped, cuts_of, write_glance
from lessoncut.render.shots import strips_of
from lessoncut.render.sound import Source, lesson_sound, sample_of
from lessoncut.render.tone import tone_of
from lessoncut.times import FrameRate, Span
from tests.render import clock
from tests.render.lessons import filmed
from tests.render.sounding import ArrayTrack, timeline, voice
from tests.render.test_encoding import RATE_29_97, wanted
from tests.take.making import ffmpeg

RATE = FrameRate(Fraction(25))
H264 = ("-c:v", "libx264", "-pix_fmt", "yuv420p", "-g", "60", "-c:a", "aac", "-b:a", "192k")


def test_cuts_are_where_the_take_does_not_run_on() -> None:
    lesson = timeline(RATE, (0, 0, 10), (0, 10, 25), (0, 40, 50), (0, 49, 10, 0), (0, 50, 60))
    assert cuts_of(lesson) == (25, 35, 45)


def test_a_part_of_a_timeline_is_what_the_whole_has_there() -> None:
    lesson = timeline(RATE, (0, 10, 40), (0, 79, 30, 0), (0, 80, 120))
    part = clipped(lesson, 20, 75)
    assert wanted(part) == wanted(lesson)[20:75]
    assert [edit.lesson_in for edit in part.edits] == [0, 10, 40]
    assert part.frames == 55
    spoken = (Span(500, 1500), Span(3300, 4500))
    track = ArrayTrack(voice(6, spoken))
    source = Source((track,), (tone_of(track, spoken),))
    whole = np.concatenate(list(lesson_sound(lesson, source)))
    heard = np.concatenate(list(lesson_sound(part, source)))
    # Only the gap's room tone may be another stretch of it.
    np.testing.assert_array_equal(heard[: 9 * 1920], whole[20 * 1920 : 29 * 1920])
    np.testing.assert_array_equal(heard[41 * 1920 :], whole[61 * 1920 : 75 * 1920])


@pytest.mark.parametrize(
    ("rate", "sound_hz"), [(RATE_29_97, "48000"), (Fraction(25), "44100"), (Fraction(30), "22050")]
)
def test_a_glance_shows_and_plays_what_the_lesson_does(tmp_path: Path, rate: Fraction, sound_hz: str) -> None:
    lesson = filmed(tmp_path, *H264, "-ar", sound_hz, rate=rate)
    middle = lesson.marks.items[3]
    first, end = middle.lesson_in - 20, middle.lesson_out + 20
    with bench_in(tmp_path) as bench:
        write_glance(lesson.footage, first, end, bench, tmp_path / "glance.mp4")
    assert clock.pictures(tmp_path / "glance.mp4") == wanted(lesson.timeline)[first:end]
    sound, per = clock.sound_in(tmp_path / "glance.mp4"), lesson.timeline.rate
    spoken = [mark for mark in lesson.marks.items if first < mark.lesson_in and mark.lesson_out < end]
    assert spoken
    for mark in spoken:
        start = mark.lesson_span.start_ms * 48 - sample_of(first, per) + 4800
        heard, alike = clock.found_at(sound[start : start + 9600], lesson.spoken)
        assert alike > 0.8
        played = next(edit for edit in lesson.timeline.edits if edit.lesson_in == mark.lesson_in)
        assert hasattr(played, "source_in")
        shift = sample_of(played.source_in, per) - sample_of(played.lesson_in, per)
        assert abs(heard - (start + sample_of(first, per) + shift)) <= 48


def test_a_glance_at_a_take_without_a_picture(tmp_path: Path) -> None:
    lesson = filmed(tmp_path, "-vn", name="take.wav")
    with bench_in(tmp_path) as bench:
        write_glance(lesson.footage, 100, 400, bench, tmp_path / "glance.m4a")
    assert len(clock.sound_in(tmp_path / "glance.m4a")) / 48 == pytest.approx(3000, abs=30)


@pytest.mark.slow
def test_a_glance_into_a_long_take_is_made_at_once(tmp_path: Path) -> None:
    """The project's bar: within two seconds (measured here in this process's and its children's CPU time)."""
    path = tmp_path / "take.mp4"
    ffmpeg(
        "-f", "lavfi", "-i", "testsrc2=s=1280x720:r=30:d=300", "-f", "lavfi", "-i", "anoisesrc=d=300:a=0.1:r=48000",
        "-c:v", "libx264", "-preset", "ultrafast", "-g", "60", "-pix_fmt", "yuv420p", "-c:a", "aac", path,
    )  # fmt: skip
    lesson = filmed(tmp_path, path=path)
    moved = timeline(lesson.timeline.rate, (0, 8000, 8040), (0, 8100, 8160))
    footage = type(lesson.footage)(lesson.take, moved, ())
    before_s = sum(os.times()[:4])
    with bench_in(tmp_path) as bench:
        write_glance(footage, 0, 100, bench, tmp_path / "glance.mp4")
    assert sum(os.times()[:4]) - before_s < 2
    assert strips_of(moved)
