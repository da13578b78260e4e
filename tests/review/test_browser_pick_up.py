"""A pick-up added on the page: heard, matched, played; taken back; refused; never half there."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from lessoncut.store import LessonFolder
from lessoncut.workflow.opened import opened as reopened
from tests.review.driving import keys, strip
from tests.workflow.acting import Ears, perform
from tests.workflow.test_picking_up import BOTH, LACKING, PICKED_UP, lacking

pytestmark = pytest.mark.browser


@pytest.fixture
def ears(monkeypatch: pytest.MonkeyPatch) -> Ears:
    return Ears(LACKING, monkeypatch)


@pytest.fixture
def lesson(tmp_path: Path, ears: Ears) -> LessonFolder:
    return lacking(tmp_path, ears)


def chosen(page: Any, file: Path) -> None:
    """Press the key, and choose the file as in any file chooser."""
    with page.expect_file_chooser() as chooser:
        page.evaluate("() => 1")  # by now the browser knows that the chooser is awaited
        keys(page, "m")
    chooser.value.set_files(file)


def test_a_pick_up_is_matched_and_played_at_once(page: Any, lesson: LessonFolder, ears: Ears, tmp_path: Path) -> None:
    assert page.locator("#view h2").inner_text().startswith("Line missing")
    chosen(page, perform(PICKED_UP, tmp_path / "Vera again.wav"))
    page.wait_for_selector("#notes >> text=Vera again.wav: It reads: Vera climbs the winding stairs.")
    assert reopened(lesson).found.findings == ()
    assert "picked up" in page.locator("tr[data-row='L004'] td").nth(1).inner_text()
    page.wait_for_selector("tr[data-row='L004'] .strip.in-hand")
    assert "line 4" in page.locator(".pick-ups").inner_text()
    ears.said = LACKING
    page.wait_for_function("() => !document.querySelector('#undo').disabled")
    keys(page, "u")
    page.wait_for_selector("#totals >> text=0 of 1")
    assert [one.kind for one in reopened(lesson).found.findings] == ["dropped_line"]
    ears.said = BOTH
    keys(page, "r")
    page.wait_for_selector("#totals >> text=0 of 0")
    strip(page, "L004", 1).click()
    ears.said = LACKING
    page.locator("[data-name='take-out-0']").click()
    page.wait_for_selector("#totals >> text=0 of 1")
    assert page.locator(".pick-ups").count() == 0


def test_what_came_of_it_is_told_though_older_news_comes_later(page: Any, tmp_path: Path) -> None:
    held: list[Any] = []
    page.route("**/pulse", lambda route: held.append((route, route.fetch())), times=1)
    page.wait_for_timeout(1000)
    ((late, old),) = held
    with page.expect_response("**/pick-up*"):
        chosen(page, perform(PICKED_UP, tmp_path / "Vera again.wav"))
    late.fulfill(response=old)
    page.wait_for_selector("#notes >> text=Vera again.wav: It reads: Vera climbs the winding stairs.")


def test_what_is_no_recording_is_told_and_leaves_all_as_it_was(page: Any, lesson: LessonFolder, tmp_path: Path) -> None:
    letter = tmp_path / "a <b>letter.txt"
    letter.write_text("no sound at all")
    before = reopened(lesson)
    chosen(page, letter)
    page.wait_for_selector("#notes .wrong >> text=letter")
    after = reopened(lesson)
    assert (after.found, after.effects) == (before.found, before.effects)
    assert list((lesson.path / "pick-ups").iterdir()) == []
    assert page.locator("#notes b").count() == 0
