"""The picture beside the sheet: from the take itself, or from the copy that is made where a browser cannot play it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from lessoncut.review.desk import Desk
from lessoncut.store import LessonFolder
from lessoncut.take.probe import probe
from lessoncut.timeline.records import Gap
from lessoncut.workflow.lesson import paced, pacing_of
from lessoncut.workflow.opened import opened as reopened
from lessoncut.workflow.records import FOUND, KnownTake, Stamp
from lessoncut.workflow.sound import Sound
from tests.review.conftest import opened
from tests.review.driving import decided, keys, strip
from tests.review.in_process import answering
from tests.review.lessons import reviewed, sound
from tests.take.making import ffmpeg

pytestmark = pytest.mark.browser

PLAYED = ("take.mp4", "-c:v", "libx264", "-pix_fmt", "yuv420p", "-c:a", "aac")
NOT_PLAYED = ("take.mov", "-c:v", "libx265", "-x265-params", "log-level=none", "-c:a", "aac")


def filmed(at: Path, name: str, *options: str) -> LessonFolder:
    """The lighthouse lesson, its take with a picture that counts its frames."""
    folder = reviewed(at)
    film = at.parent / name
    ffmpeg("-i", at.parent / "take.wav", "-f", "lavfi", "-i", "testsrc2=s=160x90:r=25:d=37", *options, film)
    take = probe([film])
    status = film.stat()
    found = reopened(folder).found
    known = KnownTake(take, (Stamp(str(film), status.st_size, status.st_mtime_ns),))
    folder.write(FOUND, "by hand", replace(found, known=known))
    np.save(folder.sound_path(Sound(folder, take).key), sound())
    return folder


@pytest.fixture
def lesson(request: pytest.FixtureRequest, tmp_path: Path) -> LessonFolder:
    return filmed(tmp_path / "lesson", *request.param)


@pytest.fixture
def server(lesson: LessonFolder) -> Iterator[str]:
    with answering(Desk(lesson)) as address:
        yield address


@pytest.mark.parametrize("lesson", [NOT_PLAYED], indirect=True)
def test_a_copy_is_made_and_until_then_there_is_sound(server: str, window: Any) -> None:
    asked: list[str] = []
    window.on("request", lambda request: asked.append(request.url.partition("?")[0].rpartition("/")[2]))
    page = opened(window, server)
    page.wait_for_selector("#picture:not([hidden])", timeout=60_000)
    media = [one for one in asked if one in ("take", "take.wav")]
    assert media[:2] == ["take", "take.wav"] and media[-1] == "take", "asked for, heard, seen"
    strip(page, "L004", 0).click()
    page.wait_for_function("() => !document.querySelector('#take').paused")
    page.wait_for_function("() => document.querySelector('#take').currentTime > 10.1")
    assert page.evaluate("() => document.querySelector('#take').videoWidth") == 160


@pytest.mark.parametrize("lesson", [PLAYED], indirect=True)
def test_the_picture_follows_the_lesson_and_is_held_in_a_gap(page: Any, lesson: LessonFolder) -> None:
    page.wait_for_selector("#picture:not([hidden])")
    keys(page, "Shift+G")
    page.locator("[data-name='pacing-hold']").focus()
    decided(page, lambda: keys(page, "Space"))
    strip(page, "L004", 1).click()
    keys(page, "Escape", "w")
    take = "document.querySelector('#take')"
    page.wait_for_function(f"() => !{take}.paused && {take}.muted && {take}.currentTime > 26")
    page.wait_for_selector("#player .turn:visible >> text=left")
    page.wait_for_function(f"() => {take}.paused && !{take}.seeking")
    page.wait_for_timeout(300)
    seen = [page.evaluate(f"() => {take}.currentTime") for _ in range(2) if page.wait_for_timeout(400) is None]
    sheet = paced(reopened(lesson), pacing_of(lesson))
    mark = next(item for item in sheet.marks.items if (item.line_id, item.pass_id) == ("L004", "P2"))
    gap = next(edit for edit in sheet.timeline.edits if isinstance(edit, Gap) and edit.item == mark.item)
    held_s = sheet.timeline.rate.start_ms(gap.hold_frame) / 1000
    assert seen[0] == seen[1] == pytest.approx(held_s, abs=0.06), "the same picture as in the finished lesson"
