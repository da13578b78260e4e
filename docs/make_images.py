"""Make the pictures of the review page in docs/images, from the sample lesson, in the Chromium that is installed.

    python docs/make_images.py [LESSON]

LESSON is a lesson folder of the sample that was analysed already and may be written to; else it is analysed first.
Needs `pip install lessoncut[browser]`, and Chromium.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Literal

from playwright.sync_api import sync_playwright

from lessoncut.review.desk import Desk
from lessoncut.review.open import listening, served
from lessoncut.store import LessonFolder
from lessoncut.workflow.analyze import Request, analyze
from lessoncut.workflow.demo import copy_sample

IMAGES = Path(__file__).parent / "images"
PICTURES: tuple[tuple[str, Literal["light", "dark"], tuple[str, ...]], ...] = (
    ("review-finding", "light", (".", ".", ".", ".", ".")),
    ("review-line", "light", (".", ".", ".", ".", ".", "i", "ArrowRight", "ArrowRight")),
    ("review-missing", "dark", ("Missing",)),
    ("review-gaps", "light", (".", ".", ".", ".", ".", "Shift+G")),
    ("review-export", "dark", (".", ".", ".", ".", ".", "x")),
    ("review-keys", "light", ("?",)),
)
"""Name, light or dark, and the keys that lead there. ``Missing`` leaves the missing line out, and takes it back."""


def main() -> None:
    with tempfile.TemporaryDirectory() as scratch:
        lesson = Path(sys.argv[1]) if len(sys.argv) > 1 else _analysed(Path(scratch))
        IMAGES.mkdir(exist_ok=True)
        with _serving(LessonFolder(lesson)) as address, sync_playwright() as driver:
            browser = driver.chromium.launch(
                executable_path=shutil.which("chromium"),
                args=["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run"],
            )
            for name, scheme, keys in PICTURES:
                page = browser.new_page(viewport={"width": 1280, "height": 720}, color_scheme=scheme)
                page.goto(address)
                page.wait_for_selector("#sheet .strip")
                page.wait_for_timeout(1500)
                for key in keys:
                    _press(page, key)
                page.wait_for_timeout(500)
                page.screenshot(path=IMAGES / f"{name}.png")
                if "Missing" in keys:
                    _press(page, "u")
                page.close()
            browser.close()


def _press(page: Any, key: str) -> None:
    if key == "Missing":
        while page.locator("#view h2").inner_text().split("\n")[0].strip().split(" Repeat")[0] != "Line missing":
            page.keyboard.press(".")
        page.locator(".choice", has_text="Go on without it.").click()
        page.wait_for_timeout(700)
        page.locator(".slot").first.click()
    else:
        page.keyboard.press(key)
        page.wait_for_timeout(300)


def _analysed(scratch: Path) -> Path:
    sample = copy_sample(scratch)
    analyze(Request((sample.take,), sample.script), sample.lesson)
    return sample.lesson


@contextmanager
def _serving(folder: LessonFolder) -> Iterator[str]:
    with listening(0) as listener:
        server, address = served(Desk(folder), listener)
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]})
        thread.start()
        try:
            yield address
        finally:
            server.should_exit = True
            thread.join()


if __name__ == "__main__":
    main()
