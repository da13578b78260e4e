"""The disk is full at every write there is: a clear error, nothing acknowledged lost, and then it goes on."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from itertools import count
from pathlib import Path

import pytest

from lessoncut.decisions.subjects import about_gap
from lessoncut.errors import LessoncutError, LessonFolderError, ToolError
from lessoncut.lesson.pacing import Pacing
from lessoncut.outputs import all_outputs
from lessoncut.outputs.base import Recording
from lessoncut.store import LessonFolder
from lessoncut.workflow.analyze import Request, analyze
from lessoncut.workflow.deciding import decide
from lessoncut.workflow.export import export
from lessoncut.workflow.lesson import paced, pacing_of, remember_pacing
from lessoncut.workflow.opened import opened
from lessoncut.workflow.studying import Targets, studied
from tests.crash.filling import Filling, leave, small_disk
from tests.crash.whole import decided, nothing_unfinished, opens
from tests.review.lessons import reviewed
from tests.workflow.acting import SAID, SCRIPT, Ears, perform

ROOT = Path(__file__).parents[2]
EVERY = pytest.mark.parametrize(
    "stride", [pytest.param(9, id="some"), pytest.param(1, id="every", marks=pytest.mark.slow)]
)
KILOBYTE = 1024
SOUND = ("lesson-sound", "practice-track-mp3", "captions-srt")
QUICK = tuple(kind for kind in all_outputs() if not isinstance(kind, Recording))


def full_at(room: int, act: Callable[[], object]) -> bool:
    """Whether there was room; where there was not, the user has been told so."""
    disk = Filling(room)
    with disk.at_work():
        try:
            act()
        except LessoncutError as error:
            assert disk.hit
            assert "disk is full" in str(error)
            assert error.exit_code in (LessonFolderError.exit_code, ToolError.exit_code)
            return False
    assert not disk.hit, "a write failed, and nobody was told"
    return True


@EVERY
def test_analyze(stride: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    Ears(SAID, monkeypatch)
    (tmp_path / "script.md").write_text(SCRIPT)
    request = Request((perform(SAID, tmp_path / "take.wav"),), tmp_path / "script.md")
    undisturbed = analyze(request, tmp_path / "undisturbed")
    at = tmp_path / "lesson"
    for room in count(0, stride):
        there_was_room = full_at(room, lambda: analyze(request, at))
        opens(at)
        assert analyze(request, at).found == undisturbed.found
        nothing_unfinished(at)
        shutil.rmtree(at)
        if there_was_room:
            break
    assert room > 20, "hardly anything was written"


@pytest.mark.parametrize("again", [False, True], ids=["first", "later"])
def test_decide(again: bool, tmp_path: Path) -> None:
    folder = reviewed(tmp_path / "lesson")
    spoken = opened(folder).found.script
    subject = about_gap(spoken.passage[0].id, spoken)
    acknowledged: list[int] = []
    if again:
        decide(folder, subject, "set", 1500)
        acknowledged.append(1500)
    for room in count():
        value = 2000 + room
        there_was_room = full_at(room, lambda value=value: decide(folder, subject, "set", value))  # type: ignore[misc]
        if there_was_room:
            acknowledged.append(value)
        stored = decided(folder)
        assert [one for one in stored if one in acknowledged] == acknowledged
        assert opened(LessonFolder(folder.path)).log.torn == (), "a refused line was left half there"
        opens(folder.path)
        if there_was_room:
            break
    assert room >= 2


@EVERY
def test_export(stride: int, tmp_path: Path) -> None:
    folder = reviewed(tmp_path / "lesson")
    lesson = opened(folder)
    sheet, study = paced(lesson, pacing_of(folder)), studied(lesson, Targets())
    export(sheet, study, QUICK)
    outputs = folder.path / "outputs"
    whole = {path.name: path.stat().st_size for path in outputs.iterdir()}
    for room in count(0, stride):
        shutil.rmtree(outputs)
        there_was_room = full_at(room, lambda: export(sheet, study, QUICK))
        assert {path.name: path.stat().st_size for path in outputs.iterdir()}.items() <= whole.items()
        if there_was_room:
            break
    assert room > 50


@EVERY
def test_export_of_sound(stride: int, tmp_path: Path) -> None:
    folder = reviewed(tmp_path / "lesson")
    lesson = opened(folder)
    sheet, study = paced(lesson, pacing_of(folder)), studied(lesson, Targets())
    kinds = [kind for kind in all_outputs() if kind.name in SOUND]
    for room in count(0, stride):
        if full_at(room, lambda: export(sheet, study, kinds)):
            break
        assert list((folder.path / "work").glob(".part-*")) == []
    assert room >= 6


def test_what_the_teacher_chose_for_the_whole_lesson_stays(tmp_path: Path) -> None:
    folder = reviewed(tmp_path / "lesson")
    before, chosen = pacing_of(folder), Pacing("A1")
    for room in count():
        if full_at(room, lambda: remember_pacing(folder, chosen)):
            break
        assert pacing_of(folder) == before
        opens(folder.path)
    assert pacing_of(folder) == chosen
    assert room >= 2


# -- a real disk ------------------------------------------------------------------------------------------------------

SIZES = [0, 4, 8, 16, 32, 64, 256, 1030, 1060, 1100, 2048, 2120, 2200, 2400]
"""Kilobytes that are left for an analysis: its take has a sound of 1,040 kB, which is written twice on the way."""


def test_analyze_on_a_disk_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    Ears(SAID, monkeypatch)
    (tmp_path / "script.md").write_text(SCRIPT)
    request = Request((perform(SAID, tmp_path / "take.wav"),), tmp_path / "script.md")
    undisturbed = analyze(request, tmp_path / "undisturbed")
    went_well = []
    with small_disk(tmp_path / "disk", 8 * 1024 * KILOBYTE) as disk:
        for size in SIZES:
            at = disk / "lesson"
            leave(disk, size * KILOBYTE)
            try:
                analyze(request, at)
                went_well.append(size)
            except (LessonFolderError, ToolError) as error:
                assert "disk is full" in str(error)
            opens(at)
            (disk / "filler").unlink()
            assert analyze(request, at).found == undisturbed.found
            nothing_unfinished(at)
            shutil.rmtree(at)
    assert went_well, "the sizes are too small"
    assert went_well == SIZES[-len(went_well) :], "less room was enough, more was not"
    assert len(went_well) < len(SIZES)


def test_export_of_sound_on_a_disk_of_its_own(tmp_path: Path) -> None:
    folder = reviewed(tmp_path / "lesson")
    kinds = [kind for kind in all_outputs() if kind.name in SOUND]
    with small_disk(tmp_path / "disk", 64 * 1024 * KILOBYTE) as disk:
        moved = LessonFolder(shutil.copytree(folder.path, disk / "lesson"))
        lesson = opened(moved)
        sheet, study = paced(lesson, pacing_of(moved)), studied(lesson, Targets())
        whole = {one.path.name: one.path.stat().st_size for one in export(sheet, study, kinds) if one.path}
        told = 0
        for size in (0, 8, 64, 512, 4096, 16 * 1024):
            shutil.rmtree(disk / "lesson" / "outputs", ignore_errors=True)  # nothing was begun where no room was
            leave(disk, size * KILOBYTE)
            try:
                export(sheet, study, kinds)
            except (LessonFolderError, ToolError) as error:
                assert "disk is full" in str(error) or "the disk has" in str(error)
                told += 1
            (disk / "filler").unlink()
            there = list((disk / "lesson").glob("outputs/[!.]*"))
            assert all(path.stat().st_size == whole[path.name] for path in there)
        assert told >= 3
        assert {one.path.name for one in export(sheet, study, kinds) if one.path} == whole.keys()
        nothing_unfinished(moved.path)


@pytest.mark.parametrize("name", ["decide", "review"])
def test_the_command_says_so_and_ends_with_2(name: str, tmp_path: Path) -> None:
    folder = reviewed(tmp_path / "lesson")
    finding = opened(folder).found.findings[0]
    with small_disk(tmp_path / "disk", 16 * 1024 * KILOBYTE) as disk:
        shutil.copytree(folder.path, disk / "lesson")
        leave(disk, 0)
        more = {"decide": [finding.id, finding.choices[0].name], "review": ["--no-browser"]}[name]
        command = [sys.executable, "-m", "lessoncut", name, str(disk / "lesson"), *more]
        env = {**os.environ, "PYTHONPATH": str(ROOT)}
        done = subprocess.run(command, env=env, capture_output=True, text=True, check=False, timeout=120)
        assert (done.returncode, done.stdout) == (2, "")
        assert "the disk is full" in " ".join(done.stderr.split())
        assert "Traceback" not in done.stderr
        (disk / "filler").unlink()
        if name == "decide":
            assert subprocess.run(command, env=env, capture_output=True, check=False).returncode == 0
            assert len(decided(LessonFolder(disk / "lesson"))) == 1
