"""The practice tracks: what is on them, and their chapters read by other readers (FFmpeg, mutagen)."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import av
import numpy as np
import pytest
from mutagen.id3 import ID3
from mutagen.mp4 import MP4

from lessoncut.outputs import named
from lessoncut.outputs.base import NotPossible, Written
from lessoncut.outputs.languages import three_letters
from lessoncut.outputs.practice import MOST_CHAPTERS, practice_chapters, practice_stretches
from lessoncut.render.bench import bench_in
from lessoncut.render.records import AS_USUAL, Wishes
from lessoncut.render.samples import RATE_HZ
from lessoncut.times import Span
from tests.outputs.programmes import harbour, programme, said
from tests.render import clock
from tests.render.lessons import Filmed, filmed
from tests.render.test_loudness import ebur128
from tests.take.making import ffmpeg

LINES = ["Vic sells very fine wool.", "We want seven vests, please.", "The wind is wild, and the van is slow."]


def lesson_of(folder: Path, wishes: Wishes = AS_USUAL) -> Filmed:
    return filmed(folder, "-vn", name="take.wav", wishes=wishes)


def written(lesson: Filmed, folder: Path, name: str) -> tuple[Path, Written]:
    kind = named(name)
    path = folder / kind.file_name("lesson")
    with bench_in(folder) as bench:
        return path, kind.write(lesson.programme, path, bench)


def repeat_span(lesson: Filmed) -> Span:
    (chapter,) = [chapter for chapter in lesson.marks.chapters if chapter.pass_kind == "repeat"]
    return chapter.lesson_span


def chapters_by_ffmpeg(path: Path) -> list[tuple[int, int, str]]:
    """Start and end in milliseconds, and the title."""
    with av.open(str(path)) as container:
        return [
            (
                round(chapter["start"] * chapter["time_base"] * 1000),
                round(chapter["end"] * chapter["time_base"] * 1000),
                chapter["metadata"]["title"],
            )
            for chapter in container.chapters()
        ]


def test_the_repeat_pass_alone(tmp_path: Path) -> None:
    lesson = lesson_of(tmp_path)
    path, _ = written(lesson, tmp_path, "practice-track")
    span = repeat_span(lesson)
    heard = clock.sound_in(path)
    assert len(heard) / 48 == pytest.approx(span.length_ms, abs=30)
    first, last = (n for n, mark in enumerate(lesson.marks.items) if mark.pass_kind == "repeat" and mark.line_id in
                   ("L003", "L005"))  # fmt: skip
    for mark in (lesson.marks.items[first], lesson.marks.items[last]):
        start = (mark.lesson_span.start_ms - span.start_ms + 100) * 48
        _, alike = clock.found_at(heard[start : start + RATE_HZ // 4], lesson.spoken)
        assert alike > 0.8
    loudness = ebur128(heard)
    assert loudness["I"] == pytest.approx(-19, abs=0.5)
    assert loudness["Peak"] <= -1
    # No click where it begins and ends.
    assert abs(heard[0, 0]) < 0.01
    assert abs(heard[-1, 0]) < 0.01


def test_every_line_has_a_chapter_in_the_m4a(tmp_path: Path) -> None:
    lesson = lesson_of(tmp_path)
    path, _ = written(lesson, tmp_path, "practice-track")
    chapters = chapters_by_ffmpeg(path)
    assert [title for *_, title in chapters] == LINES
    assert chapters[0][0] == 0
    assert all(one[1] == other[0] for one, other in pairwise(chapters))
    assert chapters[-1][1] == pytest.approx(repeat_span(lesson).length_ms, abs=1)
    # The list that other players read ("chpl"), by mutagen.
    assert [chapter.title for chapter in MP4(path).chapters] == LINES


def test_every_line_has_a_chapter_in_the_mp3(tmp_path: Path) -> None:
    lesson = lesson_of(tmp_path)
    path, _ = written(lesson, tmp_path, "practice-track-mp3")
    tags = ID3(path)
    chapters = sorted(tags.getall("CHAP"), key=lambda frame: frame.start_time)
    assert [str(chapter.sub_frames["TIT2"]) for chapter in chapters] == LINES
    assert chapters[0].start_time == 0
    assert [c.end_time for c in chapters[:-1]] == [c.start_time for c in chapters[1:]]
    assert chapters[-1].end_time == pytest.approx(repeat_span(lesson).length_ms, abs=1)
    # ID3v2 chapter addendum 1.0, 3.2: one table of contents is the top one; it names the chapters in order.
    (contents,) = tags.getall("CTOC")
    assert contents.flags == 0b11
    assert contents.child_element_ids == [chapter.element_id for chapter in chapters]
    assert str(tags["TIT2"]) == lesson.programme.title
    heard = clock.sound_in(path)
    assert len(heard) / 48 == pytest.approx(repeat_span(lesson).length_ms, abs=60)


def test_the_slow_track_is_longer_by_a_quarter_and_its_chapters_too(tmp_path: Path) -> None:
    lesson = lesson_of(tmp_path)
    path, _ = written(lesson, tmp_path, "practice-track-slow")
    normal = repeat_span(lesson).length_ms
    assert len(clock.sound_in(path)) / 48 == pytest.approx(normal / 0.8, abs=30)
    stretches = practice_stretches(lesson.programme, with_model=False)
    plain = practice_chapters(lesson.programme, stretches)
    slow = chapters_by_ffmpeg(path)
    assert [at for at, *_ in slow] == [pytest.approx(part.span.start_ms / 0.8, abs=1) for part in plain]


def test_with_the_model_reading_before_it(tmp_path: Path) -> None:
    lesson = lesson_of(tmp_path, Wishes(with_model=True))
    path, _ = written(lesson, tmp_path, "practice-track")
    assert [title for *_, title in chapters_by_ffmpeg(path)] == LINES * 2
    both = sum(chapter.lesson_span.length_ms for chapter in lesson.marks.chapters if chapter.pass_kind)
    assert len(clock.sound_in(path)) / 48 == pytest.approx(both, abs=30)


@pytest.mark.parametrize("name", ["practice-track", "practice-track-mp3"])
@pytest.mark.parametrize("suffix", ["jpg", "png"])
def test_a_cover_picture(tmp_path: Path, name: str, suffix: str) -> None:
    cover = tmp_path / f"cover, 100%.{suffix}"
    ffmpeg("-f", "lavfi", "-i", "testsrc2=s=64x64:d=1", "-frames:v", "1", tmp_path / f"plain.{suffix}")
    (tmp_path / f"plain.{suffix}").rename(cover)
    path, _ = written(lesson_of(tmp_path, Wishes(cover=str(cover))), tmp_path, name)
    found = ID3(path).getall("APIC")[0].data if path.suffix == ".mp3" else bytes(MP4(path)["covr"][0])
    assert found == cover.read_bytes()
    assert len(chapters_by_ffmpeg(path)) == 3


def test_a_track_that_was_not_finished_is_not_there(tmp_path: Path) -> None:
    lesson = lesson_of(tmp_path, Wishes(cover=str(tmp_path / "missing.png")))
    with pytest.raises(Exception, match=r"missing\.png"):
        written(lesson, tmp_path, "practice-track")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["take.wav"]


def test_a_lesson_without_a_repeat_pass_has_none() -> None:
    with pytest.raises(NotPossible, match="no repeat pass"):
        practice_stretches(programme([said(0, "Hello there.", 500, 500, line_id="L001")]), with_model=True)


def test_on_the_takes_clock_there_is_none() -> None:
    with pytest.raises(NotPossible, match="no lesson to be cut"):
        named("practice-track").write(replace(harbour(), footage=None), Path("x.m4a"), bench=object())  # type: ignore[arg-type]


def test_talk_and_broken_starts_have_no_chapter_of_their_own() -> None:
    stretches = practice_stretches(harbour(), with_model=False)
    parts = practice_chapters(harbour(), stretches)
    repeated = [one for one in harbour().said if one.mark.pass_kind == "repeat"]
    assert [part.title for part in parts] == [one.text for one in repeated]


def test_more_lines_than_a_table_can_count_share_chapters() -> None:
    items = [said(n, f"Line {n}.", 500 + 3000 * n, 1500, line_id=f"L{n:03d}", pass_kind="repeat") for n in range(600)]
    long = programme(items)
    parts = practice_chapters(long, practice_stretches(long, with_model=False))
    assert len(parts) == 200 <= MOST_CHAPTERS
    assert all(one.span.end_ms == other.span.start_ms for one, other in pairwise(parts))
    assert parts[-1].span.end_ms == long.duration_ms


def test_long_titles_are_cut_on_a_character_in_the_file(tmp_path: Path) -> None:
    lesson = lesson_of(tmp_path)
    text = "ñ" * 200
    long = tuple(replace(one, words=tuple(replace(word, text=text) for word in one.words[:1]))
                 for one in lesson.programme.said)  # fmt: skip
    path, _ = written(replace(lesson, programme=replace(lesson.programme, said=long)), tmp_path, "practice-track")
    # An MP4's list counts 255 bytes: 127 such characters.
    assert {title for *_, title in chapters_by_ffmpeg(path)} == {"ñ" * 127}
    assert {chapter.title for chapter in MP4(path).chapters} == {"ñ" * 127}


@pytest.mark.parametrize(
    ("tag", "code"),
    # ISO 639-2 (terminology) codes; from memory.
    [("en", "eng"), ("en-GB", "eng"), ("de", "deu"), ("fr-CA", "fra"), ("zh", "zho"), ("haw", "haw"), ("x", "und"),
     ("", "und"), ("jv", "jav")],
)  # fmt: skip
def test_languages_have_three_letters(tag: str, code: str) -> None:
    assert three_letters(tag) == code


def test_the_tone_of_the_gap_is_on_the_track(tmp_path: Path) -> None:
    lesson = lesson_of(tmp_path)
    path, _ = written(lesson, tmp_path, "practice-track")
    heard, span = clock.sound_in(path), repeat_span(lesson)
    gap = next(mark.gap.lesson_span for mark in lesson.marks.items if mark.pass_kind == "repeat")
    middle = (gap.middle_ms - span.start_ms) * 48
    assert 0 < float(np.abs(heard[middle : middle + 4800]).max()) < 0.1
    assert np.count_nonzero(heard[middle : middle + 4800]) > 4000
