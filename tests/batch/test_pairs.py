"""Which takes and scripts make a lesson."""

from pathlib import Path

import pytest

from lessoncut.errors import ChoiceError
from lessoncut.workflow.batch import jobs_of
from lessoncut.workflow.pairs import pairs_in
from lessoncut.workflow.records import HearingSettings


def fill(folder: Path, *names: str) -> Path:
    for name in names:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(b"")
    return folder


def told(folder: Path) -> tuple[dict[str, list[str]], dict[str, str]]:
    """Takes and script of every lesson, and what is left over and why, as names under the folder."""
    found = pairs_in(folder)
    lessons = {
        pair.name: [path.relative_to(folder).as_posix() for path in (*pair.takes, pair.script)] for pair in found.pairs
    }
    return lessons, {one.path.relative_to(folder).as_posix(): one.why for one in found.left_over}


def test_the_same_name_before_the_ending(tmp_path: Path) -> None:
    fill(tmp_path, "monday.mp4", "monday.md", "tuesday.WAV", "tuesday.docx", "below/monday.m4a", "below/monday.txt")
    assert told(tmp_path) == (
        {
            "below/monday": ["below/monday.m4a", "below/monday.txt"],
            "monday": ["monday.mp4", "monday.md"],
            "tuesday": ["tuesday.WAV", "tuesday.docx"],
        },
        {},
    )


def test_one_script_and_its_recordings_in_a_folder_of_their_own(tmp_path: Path) -> None:
    fill(tmp_path, "unit 1/part2.mp4", "unit 1/part1.mp4", "unit 1/what I say.md", "unit 1/notes.pdf")
    assert told(tmp_path) == ({"unit 1": ["unit 1/part1.mp4", "unit 1/part2.mp4", "unit 1/what I say.md"]}, {})


def test_what_is_left_over_is_named(tmp_path: Path) -> None:
    fill(tmp_path, "a.mp4", "a.md", "b.mp4", "c.md", "d.mp4", "d.mov", "d.md", "e.mp4", "e.md", "e.txt", "picture.png")
    lessons, left = told(tmp_path)
    assert list(lessons) == ["a"]
    assert left == {
        "b.mp4": "no script of this name",
        "c.md": "no recording of this name",
        "d.md": "more than one recording of this name",
        "d.mov": "more than one recording of this name",
        "d.mp4": "more than one recording of this name",
        "e.md": "more than one script of this name",
        "e.mp4": "more than one script of this name",
        "e.txt": "more than one script of this name",
    }


def test_two_lessons_never_share_a_name(tmp_path: Path) -> None:
    fill(tmp_path, "monday.mp4", "monday.md", "monday/take.mp4", "monday/script.md")
    lessons, left = told(tmp_path)
    assert lessons == {}
    assert set(left.values()) == {"two lessons would be called monday"}


def test_lesson_folders_and_hidden_ones_are_passed_by(tmp_path: Path) -> None:
    fill(tmp_path, "monday.mp4", "monday.md", "lessons/monday/lesson.json", "lessons/monday/outputs/lesson.mp4")
    fill(tmp_path, "lessons/monday/outputs/lesson.md", ".trash/a.mp4", ".trash/a.md", "._monday.mp4")
    assert list(told(tmp_path)[0]) == ["monday"]
    with pytest.raises(ChoiceError, match="a lesson folder itself"):
        pairs_in(tmp_path / "lessons" / "monday")


def test_no_such_folder(tmp_path: Path) -> None:
    with pytest.raises(ChoiceError, match="there is no such folder"):
        pairs_in(tmp_path / "nowhere")


def test_every_lesson_has_a_folder_of_its_own(tmp_path: Path) -> None:
    fill(tmp_path, "a.mp4", "a.md", "b/a.mp4", "b/a.md")
    jobs = jobs_of(pairs_in(tmp_path), tmp_path / "out", HearingSettings(), ["captions-webvtt"])
    assert [job.lesson for job in jobs] == [tmp_path / "out" / "a", tmp_path / "out" / "b" / "a"]
    assert {job.outputs for job in jobs} == {("captions-webvtt",)}
    with pytest.raises(ChoiceError, match="no output called"):
        jobs_of(pairs_in(tmp_path), tmp_path / "out", HearingSettings(), ["hologram"])
