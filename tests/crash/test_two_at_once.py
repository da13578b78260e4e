"""Two commands on one lesson folder at the same time, each a process of its own."""

from __future__ import annotations

import json
import os
import threading
from functools import partial
from pathlib import Path

import pytest

from lessoncut.decisions.log import parse
from lessoncut.decisions.subjects import about_gap
from lessoncut.errors import LessonFolderError
from lessoncut.outputs import named
from lessoncut.store import LessonFolder
from lessoncut.workflow.analyze import Request, analyze
from lessoncut.workflow.deciding import decide
from lessoncut.workflow.export import export
from lessoncut.workflow.lesson import paced, pacing_of
from lessoncut.workflow.opened import opened
from lessoncut.workflow.studying import Targets, studied
from tests.crash.killing import Say, running
from tests.crash.whole import decided, nothing_unfinished, opens
from tests.review.lessons import reviewed
from tests.workflow.acting import SAID, SCRIPT, Ears, perform

pytestmark = pytest.mark.filterwarnings("ignore:.*multi-threaded, use of fork:DeprecationWarning")

DECIDERS, EACH = 4, 10


def _hold(folder: LessonFolder, release: int, say: Say) -> None:
    """Hold the folder as analyze and export do, until told to let go."""
    with folder.locked():
        say("holding")
        os.read(release, 1)


def test_a_second_analyze_or_export_is_refused_and_decisions_go_on(tmp_path: Path) -> None:
    folder = reviewed(tmp_path / "lesson")
    lesson = opened(folder)
    sheet, study = paced(lesson, pacing_of(folder)), studied(lesson, Targets())
    subject = about_gap(lesson.found.script.passage[0].id, lesson.found.script)
    waits, release = os.pipe()
    with running(partial(_hold, folder, waits)) as holder:
        assert os.read(holder.heard, 8) == b"holding\n"
        with pytest.raises(LessonFolderError, match=rf"another lessoncut is working here \(process {holder.pid}, "):
            export(sheet, study, [named("captions-srt")])
        decide(folder, subject, "set", 4000)
        assert decided(folder) == [4000]
        os.write(release, b"x")
        assert holder.said() == []
    assert export(sheet, study, [named("captions-srt")])[0].path
    for end in (waits, release):
        os.close(end)


def test_of_two_analyses_into_one_new_folder_one_is_made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    Ears(SAID, monkeypatch)
    (tmp_path / "script.md").write_text(SCRIPT)
    request = Request((perform(SAID, tmp_path / "take.wav"),), tmp_path / "script.md")
    undisturbed = analyze(request, tmp_path / "undisturbed")

    def work(say: Say) -> None:
        try:
            analyze(request, tmp_path / "lesson")
            say("made")
        except LessonFolderError as error:
            say(error.what)

    with running(work) as first, running(work) as second:
        said = [*first.said(), *second.said()]
    assert "made" in said
    assert all(one == "made" or one.startswith("another lessoncut is working here") for one in said), said
    folder = opens(tmp_path / "lesson")
    assert folder is not None
    assert opened(folder).found == undisturbed.found
    nothing_unfinished(folder.path)


def test_decisions_of_many_at_once_all_stand_one_after_the_other(tmp_path: Path) -> None:
    folder = reviewed(tmp_path / "lesson")
    spoken = opened(folder).found.script
    subject = about_gap(spoken.passage[0].id, spoken)

    def work(first: int, say: Say) -> None:
        for value in range(first, first + EACH):
            decide(folder, subject, "set", value)
            say(str(value))

    said: list[str] = []

    def run(first: int) -> None:
        with running(partial(work, first)) as child:
            said.extend(child.said())

    threads = [threading.Thread(target=run, args=(1000 * number,)) for number in range(DECIDERS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(said) == DECIDERS * EACH
    assert sorted(map(str, decided(folder))) == sorted(said)
    assert [entry.number for entry in parse(folder.decisions_text()).entries] == list(range(1, DECIDERS * EACH + 1))
    assert json.loads((folder.path / "analysis.json").read_text(encoding="utf-8"))["schema"] == "lessoncut.analysis/1"


def test_who_locks_the_folder_sweeps_away_what_the_dead_left_and_not_what_the_living_write(tmp_path: Path) -> None:
    """A decision is written without the folder's lock, perhaps just when an export begins."""
    folder = reviewed(tmp_path / "lesson")
    with running(lambda _: None) as dead:
        dead.said()
    with running(lambda _: threading.Event().wait()) as living:
        left = [folder.path / f".part-{process}-analysis.json" for process in (dead.pid, living.pid, os.getpid())]
        bench = folder.path / "work" / ".part-12345678"
        for path in left:
            path.write_bytes(b"half of it")
        bench.mkdir()
        with folder.locked():
            assert [path.exists() for path in left] == [False, True, True]
            assert not bench.exists()
