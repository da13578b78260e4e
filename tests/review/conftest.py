"""The review page in Chromium."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from lessoncut.review.desk import Desk
from lessoncut.store import LessonFolder
from tests.review.in_process import answering
from tests.review.lessons import reviewed

SCREEN = {"width": 1280, "height": 720}


@pytest.fixture
def lesson(tmp_path: Path) -> LessonFolder:
    return reviewed(tmp_path / "lesson")


@pytest.fixture
def server(lesson: LessonFolder) -> Iterator[str]:
    """The review of the lesson, in this process."""
    with answering(Desk(lesson)) as address:
        yield address


@pytest.fixture
def window(chromium: Any) -> Iterator[Any]:
    """A browser of the teacher's; whatever goes wrong inside a page fails the test."""
    context = chromium.new_context(viewport=SCREEN)
    faults: list[str] = []
    context.on("weberror", lambda error: faults.append(str(error.error)))
    context.on("console", lambda message: faults.append(message.text) if message.type == "error" else None)
    context.faults = faults
    yield context
    context.close()
    assert faults == []


@pytest.fixture
def page(server: str, window: Any) -> Any:
    return opened(window, server)


def opened(window: Any, address: str) -> Any:
    """A tab with the review page, drawn."""
    tab = window.new_page()
    tab.goto(address)
    tab.wait_for_selector("#sheet .strip")
    return tab
