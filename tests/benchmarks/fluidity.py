"""How fluid the review page is on a long lesson, by the page's own performance measures.

    python -m tests.benchmarks.fluidity [--lines 200] [--hours 3]

Makes a take in which a passage is read twice, opens its review in the Chromium that is installed, scrolls through the
sheet and zooms in and out, and prints median and 95th percentile. A frame is measured from the beginning of the page's
work for it until its style, layout and paint are done. On a machine that does other things, too, what a frame waits
for its turn is in that; the main thread's own processor time beside it is not.
"""

from __future__ import annotations

import argparse
import json
import shutil
import statistics
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from playwright.sync_api import sync_playwright

from lessoncut.review.desk import Desk
from tests.conftest import FLAGS
from tests.review.in_process import answering
from tests.review.lessons import long_lesson

OPENINGS = 3
SCROLLS, SCROLL_PIXELS = 150, 120
ZOOMS = 22
MEASURES = "name => performance.getEntriesByName(name).map(entry => entry.duration)"
FRAME = "ProxyMain::BeginMainFrame"
"""As Chromium's tracing calls the work of the main thread for one frame: script, style, layout, paint, commit."""
PAINTED = "() => performance.getEntriesByName('first paint').length"
ANSWERED = """() => {
  const [opened] = performance.getEntriesByType('navigation');
  const [first] = performance.getEntriesByName('first paint');
  return first.startTime + first.duration - opened.responseEnd;
}"""


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--lines", type=int, default=200)
    options.add_argument("--hours", type=int, default=3)
    asked = options.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        lesson = long_lesson(Path(scratch) / "lesson", asked.lines, asked.hours)
        desk = Desk(lesson)
        desk.seen()
        with answering(desk) as address, sync_playwright() as driver:
            browser = driver.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
            page = browser.new_page(viewport={"width": 1280, "height": 720})
            paints, opened = [], []
            for visit in range(OPENINGS):
                page.goto(address if not visit else page.url)
                page.wait_for_function(PAINTED)
                paints += page.evaluate(MEASURES, "first paint")
                opened.append(page.evaluate(ANSWERED))
            page.wait_for_timeout(2000)
            with _traced(browser, page, Path(scratch)) as scrolled:
                _scroll(page)
            with _traced(browser, page, Path(scratch)) as zoomed:
                _zoom(page)
            scrolls, zooms = (page.evaluate(MEASURES, name) for name in ("scroll", "zoom"))
            browser.close()
    print(f"{asked.lines} lines, {asked.hours} hours")
    for says, values in (
        ("first paint after the lesson was answered", paints),
        ("first paint after the page was answered, its modules and the lesson fetched", opened),
        ("scroll frame", scrolls),
        ("zoom frame", zooms),
        ("processor time of a frame while scrolling", scrolled),
        ("processor time of a frame while zooming", zoomed),
    ):
        print(f"{says}: {_figures(values)}")


@contextmanager
def _traced(browser: Any, page: Any, scratch: Path) -> Iterator[list[float]]:
    """The processor time of the main thread for every frame, in ms, known when the block ends."""
    trace = scratch / "trace.json"
    frames: list[float] = []
    browser.start_tracing(page=page, path=trace, categories=["cc"])
    yield frames
    browser.stop_tracing()
    events = json.loads(trace.read_text(encoding="utf-8"))["traceEvents"]
    frames += [event["tdur"] / 1000 for event in events if event["name"] == FRAME and "tdur" in event]


def _scroll(page: Any) -> None:
    box = page.locator("#sheet").bounding_box()
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    for step in range(SCROLLS):
        page.mouse.wheel(0, SCROLL_PIXELS if step < SCROLLS * 2 // 3 else -2 * SCROLL_PIXELS)
        page.wait_for_timeout(20)


def _zoom(page: Any) -> None:
    for step in range(ZOOMS):
        page.keyboard.press("+" if step < ZOOMS // 2 else "-")
        page.wait_for_timeout(60)


def _figures(values: list[float]) -> str:
    high = statistics.quantiles(values, n=20)[-1] if len(values) > 1 else values[0]
    return f"median {statistics.median(values):.1f} ms, 95th percentile {high:.1f} ms ({len(values)} measured)"


if __name__ == "__main__":
    main()
