"""A few seconds of the lesson: the same pictures and sounds as in the whole."""

from __future__ import annotations

import os
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessoncut.render.glance import clipped, cuts_of, gain_db, turned_down, write_glance
from lessoncut.render.records import Footage
from lessoncut.render.shots import strips_of
from lessoncut.render.sound import Source, lesson_sound, sample_of
from lessoncut.render.targets import CODED_CEILING_DBTP
from lessoncut.render.tone import tone_of
from lessoncut.take.levels import Levels
from lessoncut.take.measure import measure
from lessoncut.take.probe import probe
from lessoncut.times import FrameRate, Span
from tests.render import clock
from tests.render.lessons import Filmed, filmed
from tests.render.sounding import ArrayTrack, timeline, voice
from tests.render.test_encoding import RATE_29_97, wanted
from tests.take.making import ffmpeg, sixteen_bits

RATE = FrameRate(Fraction(25))
H264 = ("-c:v", "libx264", "-pix_fmt", "yuv420p", "-g", "60", "-c:a", "aac", "-b:a", "192k")


def levels_of(lesson: Filmed) -> Levels:
    return measure(sixteen_bits(lesson.spoken[::3].mean(axis=1)))


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


def test_what_is_covered_in_the_lesson_is_covered_in_a_part_of_it() -> None:
    covers = (Span(0, 900), Span(2000, 2400), Span(3900, 5000))
    lesson = timeline(RATE, (0, 10, 40), (0, 79, 30, 0), (0, 80, 120), covers=covers)
    spans = [cover.lesson_span for cover in clipped(lesson, 20, 100).covers]
    assert spans == [Span(0, 100), Span(1200, 1600), Span(3100, 3200)]
    assert clipped(lesson, 60, 75).covers == ()


@pytest.mark.parametrize(
    ("rate", "sound_hz"), [(RATE_29_97, "48000"), (Fraction(25), "44100"), (Fraction(30), "22050")]
)
def test_a_glance_shows_and_plays_what_the_lesson_does(tmp_path: Path, rate: Fraction, sound_hz: str) -> None:
    lesson = filmed(tmp_path, *H264, "-ar", sound_hz, rate=rate)
    middle = lesson.marks.items[3]
    first, end = middle.lesson_in - 20, middle.lesson_out + 20
    write_glance(lesson.footage, first, end, levels_of(lesson), tmp_path / "glance.mp4")
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


def test_a_glance_across_unlike_files(tmp_path: Path) -> None:
    """Of another size, entered twice, with a key frame far away; and one of sound alone, which is black."""
    first = clock.take(tmp_path / "a.mp4", *H264, rate=RATE_29_97, length_s=8)
    larger = ("-vf", "scale=320:192", *H264, "-g", "300", "-ac", "2")
    second = clock.take(tmp_path / "b.mov", *larger, rate=RATE_29_97, length_s=8)
    third = clock.take(tmp_path / "c.m4a", "-vn", "-c:a", "aac", length_s=8)
    edits = ((0, 100, 110), (0, 109, 5, 0), (0, 190, 200), (1, 150, 160), (1, 159, 6, 0), (1, 50, 60), (2, 10, 15))
    lesson = timeline(FrameRate(RATE_29_97), *edits, files=3)
    write_glance(
        Footage(probe([first, second, third]), lesson, ()), 0, lesson.frames, flat(-30), tmp_path / "glance.mp4"
    )
    assert clock.pictures(tmp_path / "glance.mp4") == [
        *range(100, 110), *[109] * 5, *range(190, 200), *range(150, 160), *[159] * 6, *range(50, 60), *[0] * 5
    ]  # fmt: skip
    assert clock.size_of(tmp_path / "glance.mp4") == (clock.WIDTH, clock.HEIGHT)


def test_a_glance_at_a_take_without_a_picture(tmp_path: Path) -> None:
    lesson = filmed(tmp_path, "-vn", name="take.wav")
    write_glance(lesson.footage, 100, 400, levels_of(lesson), tmp_path / "glance.m4a")
    assert len(clock.sound_in(tmp_path / "glance.m4a")) / 48 == pytest.approx(3000, abs=30)


def flat(db: float, length_s: float = 10.0) -> Levels:
    level_db = np.full(round(length_s * 100), db, np.float32)
    return Levels(level_db, level_db)


def test_the_gain_is_the_whole_lessons_and_comes_from_the_levels() -> None:
    """BS.1770: loudness is -0.691 + 10 log10 of the mean square; -19 LUFS are wanted of one channel."""
    lesson = timeline(RATE, (0, 25, 75), (0, 74, 50, 0), (0, 100, 150))
    assert gain_db(lesson, flat(-30)) == pytest.approx(-19 + 30.691, abs=0.01)
    assert gain_db(lesson, flat(-75)) == 0  # silence is not raised
    # What the lesson does not play counts nothing.
    loud_elsewhere = flat(-30)
    loud_elsewhere.voice_db[300:400] = -6
    assert gain_db(lesson, loud_elsewhere) == pytest.approx(-19 + 30.691, abs=0.01)


@given(st.integers(0, 2**32 - 1), st.floats(0.1, 8), st.integers(1, 5000), st.integers(1, 2))
def test_no_sample_of_a_glance_is_over_the_ceiling(seed: int, level: float, length: int, channels: int) -> None:
    draw = np.random.default_rng(seed)
    sound = (draw.standard_normal((length, channels)) * 0.05).astype(np.float32)
    sound[draw.integers(0, length, 3)] = level
    done = turned_down(sound)
    assert done.shape == sound.shape
    assert np.abs(done).max() <= 10 ** (CODED_CEILING_DBTP / 20) + 1e-6
    quiet = sound * np.float32(0.05)
    np.testing.assert_array_equal(turned_down(quiet), quiet)


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
    write_glance(footage, 0, 100, levels_of(lesson), tmp_path / "glance.mp4")
    assert sum(os.times()[:4]) - before_s < 2
    assert strips_of(moved)
