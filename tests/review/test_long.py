"""The long jobs beside each other and beside what the page asks meanwhile."""

from __future__ import annotations

from pathlib import Path
from time import sleep

import pytest

from lessoncut.decisions.subjects import about_pick_up
from lessoncut.review.desk import Desk
from lessoncut.review.long import LongJobs
from lessoncut.store import LessonFolder
from lessoncut.workflow.deciding import decide
from lessoncut.workflow.opened import opened
from lessoncut.workflow.picking_up import catch_up, lags
from tests.workflow.acting import Ears, perform
from tests.workflow.test_picking_up import LACKING, PICKED_UP, lacking


@pytest.fixture
def lesson(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> LessonFolder:
    folder = lacking(tmp_path, Ears(LACKING, monkeypatch))
    recording = perform(PICKED_UP, folder.pick_up_path("Vera again.wav"))
    decide(folder, about_pick_up(recording.relative_to(folder.path).as_posix()), "add")
    return folder


def test_what_lags_is_matched_again(lesson: LessonFolder) -> None:
    jobs = LongJobs(Desk(lesson))
    jobs.catch_up()
    assert jobs.adding is not None
    while jobs.adding.running:
        sleep(0.01)
    assert not lags(opened(lesson))


def test_what_was_looked_at_before_a_pick_up_was_matched_is_not_matched_again(lesson: LessonFolder) -> None:
    desk = Desk(lesson)
    before = desk.seen().lesson
    catch_up(lesson)
    jobs = LongJobs(desk)
    assert lags(before)
    jobs.catch_up()
    assert jobs.adding is None
