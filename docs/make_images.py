"""Make the pictures of the review page in docs/images, from the sample lesson, in the Chromium that is installed.

    python docs/make_images.py [LESSON]

LESSON is a lesson folder of the sample that was analysed already and may be written to; else it is analysed first.
Needs `pip install lessoncut[browser,test]`, and Chromium.
"""

from __future__ import annotations

import json
import shutil
import sys
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import numpy as np
import soundfile
from playwright.sync_api import sync_playwright

from lessoncut.review.desk import Desk
from lessoncut.review.open import listening, served
from lessoncut.store import LessonFolder
from lessoncut.take.samples import RATE_HZ
from lessoncut.workflow.analyze import Request, analyze
from lessoncut.workflow.demo import copy_sample

IMAGES = Path(__file__).parent / "images"
READ_AGAIN = ("read_again",)


@dataclass(frozen=True)
class Picture:
    """``steps`` lead there: keys, or names of functions below. ``zoom`` 2 is a page at 200 % on the same screen."""

    name: str
    scheme: Literal["light", "dark"]
    steps: tuple[str, ...]
    zoom: int = 1


PICTURES = (
    Picture("review-finding", "light", READ_AGAIN),
    Picture("review-finding-dark", "dark", READ_AGAIN),
    Picture("review-zoomed", "light", READ_AGAIN, zoom=2),
    Picture("review-line", "light", (*READ_AGAIN, "i", "ArrowRight", "ArrowRight")),
    Picture("review-countdown", "dark", (*READ_AGAIN, "i", "ArrowRight", "ArrowRight", "w", "in_the_gap")),
    Picture("review-gaps", "light", (*READ_AGAIN, "Shift+G")),
    Picture("review-chapters", "light", (*READ_AGAIN, "Shift+C")),
    Picture("review-export", "dark", (*READ_AGAIN, "x")),
    Picture("review-keys", "light", ("?",)),
    Picture("review-missing", "dark", ("missing",)),
    Picture("review-pick-up", "light", ("add_pick_up",)),
)


def main() -> None:
    with tempfile.TemporaryDirectory() as scratch:
        lesson = Path(sys.argv[1]) if len(sys.argv) > 1 else _analysed(Path(scratch))
        IMAGES.mkdir(exist_ok=True)
        with _serving(LessonFolder(lesson)) as address, sync_playwright() as driver:
            browser = driver.chromium.launch(
                executable_path=shutil.which("chromium"),
                args=["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run"],
            )
            for picture in PICTURES:
                page = browser.new_page(
                    viewport={"width": 1280 // picture.zoom, "height": 720 // picture.zoom},
                    device_scale_factor=picture.zoom,
                    color_scheme=picture.scheme,
                )
                page.goto(address)
                page.wait_for_selector("#sheet .strip")
                page.wait_for_timeout(1500)
                for step in picture.steps:
                    if step in STEPS:
                        STEPS[step](page, lesson)
                    else:
                        page.keyboard.press(step)
                        page.wait_for_timeout(300)
                page.wait_for_timeout(500)
                page.screenshot(path=IMAGES / f"{picture.name}.png")
                page.close()
            browser.close()


def _to_a_finding(page: Any, kind: str) -> None:
    for _ in range(page.locator(".pin").count()):
        if page.locator("#view h2").inner_text().startswith(kind):
            return
        page.keyboard.press(".")
        page.wait_for_timeout(100)
    raise SystemExit(f"no finding in this lesson begins with “{kind}”; analyse the sample anew")


def _read_again(page: Any, _: Path) -> None:
    _to_a_finding(page, "Line read again")


def _missing(page: Any, _: Path) -> None:
    """Leave the missing line out: its place is an empty slot."""
    _to_a_finding(page, "Line missing")
    page.locator(".choice", has_text="Go on without it.").click()
    page.wait_for_timeout(700)
    page.locator(".slot").first.click()


def _add_pick_up(page: Any, lesson: Path) -> None:
    """Pick the missing line up, by its other reading."""
    page.keyboard.press("u")
    page.wait_for_timeout(700)
    _to_a_finding(page, "Line missing")
    found = json.loads((lesson / "analysis.json").read_text(encoding="utf-8"))
    missing = next(one["line"] for one in found["findings"] if one["kind"] == "dropped_line")
    read = next(one for one in found["readings"] if one["line"] == missing)
    samples = np.load(next((lesson / "work").glob("sound-*.npy")))
    spoken = samples[round((read["start_s"] - 0.5) * RATE_HZ) : round((read["end_s"] + 0.5) * RATE_HZ)]
    with tempfile.TemporaryDirectory() as scratch:
        recording = Path(scratch) / "once more.wav"
        soundfile.write(recording, spoken, RATE_HZ, subtype="PCM_16")
        with page.expect_file_chooser() as chooser:
            page.evaluate("() => 1")  # by now the browser knows that the chooser is awaited
            page.keyboard.press("m")
        chooser.value.set_files(recording)
        page.wait_for_selector("#notes >> text=It reads:", timeout=120_000)
    page.wait_for_timeout(3000)
    page.locator(".pick-ups").scroll_into_view_if_needed()


def _in_the_gap(page: Any, _: Path) -> None:
    page.wait_for_selector("#player .turn:visible >> text=left", timeout=30_000)
    page.wait_for_timeout(1000)


STEPS = {"missing": _missing, "add_pick_up": _add_pick_up, "in_the_gap": _in_the_gap, "read_again": _read_again}


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
