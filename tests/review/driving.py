"""What a teacher does on the page, and waiting for what comes of it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any


def decided(page: Any, does: Callable[[], object]) -> None:
    """Do something, and wait until the page shows the server's answer to it."""
    with page.expect_response(lambda answer: answer.request.method == "POST" and answer.ok) as answer:
        does()
    shown = "revision => document.body.dataset.revision === revision"
    page.wait_for_function(shown, arg=answer.value.json()["revision"])
    page.evaluate("() => new Promise(requestAnimationFrame)")


def keys(page: Any, *names: str) -> None:
    for name in names:
        page.keyboard.press(name)


def strip(page: Any, line: str, column: int, lane: int = 0) -> Any:
    return page.locator(f"tr[data-row='{line}'] td").nth(column).locator(".strip").nth(lane)
