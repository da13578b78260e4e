"""The page for everybody: at any size, by keyboard and by ear; and whatever stands in a script."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from lessoncut.store import LessonFolder
from lessoncut.workflow.opened import opened as reopened
from tests.review.conftest import opened
from tests.review.driving import decided, keys, strip
from tests.review.lessons import HOSTILE, hostile_script, long_lesson, reviewed
from tests.review.serving import serving

pytestmark = pytest.mark.browser

AXE = Path(__file__).parent / "node_modules" / "axe-core" / "axe.min.js"


def test_a_hostile_script_is_only_text(window: Any, tmp_path: Path) -> None:
    lesson = reviewed(tmp_path / "lesson", hostile_script())
    server = serving(lesson.path)
    try:
        page = opened(window, server.address)
        assert page.title() == "<script>document.title=3</script> \u2013 review"
        words = page.locator("tr.line .words").all_text_contents()
        assert words[: len(HOSTILE)] == list(HOSTILE)
        assert page.locator("#sheet img, #sheet script, #sheet b").count() == 0
        for tab in ("f", "i", "Shift+G", "Shift+C", "x"):
            keys(page, tab)
        for _ in range(9):
            keys(page, "ArrowDown")
            assert page.locator("#view img, #view script, #view b, #view iframe").count() == 0
        assert page.title() == "<script>document.title=3</script> \u2013 review"
        wide = page.evaluate("() => [document.documentElement.scrollWidth, innerWidth]")
        assert wide[0] <= wide[1], "10,000 characters do not push the page apart"
        page.close()
    finally:
        server.end()


@pytest.mark.skipif(not AXE.exists(), reason="needs `npm install` in tests/review")
@pytest.mark.parametrize(
    ("scheme", "size"), [("light", (1280, 720)), ("dark", (1280, 720)), ("light", (640, 360)), ("dark", (640, 360))]
)
def test_axe_finds_nothing_serious(page: Any, scheme: str, size: tuple[int, int]) -> None:
    """axe-core 4 (Deque), with all of its WCAG 2 A and AA rules and its best practices; 640x360 is 200 % zoom."""
    page.emulate_media(color_scheme=scheme)
    page.set_viewport_size({"width": size[0], "height": size[1]})
    page.locator(".flag", has_text="F03").click()
    decided(page, lambda: page.locator(".choice", has_text="Go on without it.").click())
    page.locator(".slot").click()
    page.evaluate(AXE.read_text(encoding="utf-8"))
    for state in ("f", "i", "w", "Shift+G", "Shift+C", "x", "?"):
        keys(page, state)
        page.wait_for_timeout(150)
        found = page.evaluate("() => axe.run(document, { resultTypes: ['violations'] })")
        assert len(found["passes"]) > 10, "the rules have run"
        bad = [
            (rule["id"], node["html"][:160], node["failureSummary"])
            for rule in found["violations"]
            if rule["impact"] in ("serious", "critical")
            for node in rule["nodes"]
        ]
        assert bad == [], state


@pytest.mark.parametrize("size", [(1280, 720), (640, 360), (320, 640)])
def test_nothing_is_out_of_reach(page: Any, size: tuple[int, int]) -> None:
    """1280x720, and the same at 200 % and 400 % zoom (WCAG 1.4.4 and 1.4.10: 320 CSS pixels wide)."""
    page.set_viewport_size({"width": size[0], "height": size[1]})
    page.wait_for_timeout(200)
    wide = page.evaluate("() => [document.documentElement.scrollWidth, innerWidth]")
    assert wide[0] <= wide[1]
    for name in ("#undo", "#show-keys", "#tab-export", ".choice >> nth=0"):
        page.locator(name).scroll_into_view_if_needed()
        box = page.locator(name).bounding_box()
        assert box["x"] >= 0 and box["x"] + box["width"] <= size[0] + 1, name


def test_every_listed_key_is_shown_and_the_list_closes(page: Any) -> None:
    keys(page, "?")
    assert page.locator("#keys dt").count() == page.locator("#keys dd").count() > 25
    keys(page, "?")
    assert not page.locator("#keys").is_visible()


def test_single_keys_can_be_switched_off(page: Any, lesson: LessonFolder) -> None:
    keys(page, "?")
    page.locator("#keys input").uncheck()
    keys(page, "Escape", "2")
    page.wait_for_timeout(300)
    assert reopened(lesson).log.entries == ()
    strip(page, "L001", 0).focus()
    keys(page, "ArrowDown")
    assert page.evaluate("() => document.activeElement.closest('tr').dataset.row") == "L002"


@pytest.mark.slow
def test_a_long_lesson_draws_what_is_in_sight(window: Any, tmp_path: Path) -> None:
    """How long a frame takes is measured by tests/benchmarks/fluidity.py; here, that nothing is done twice."""
    lesson = long_lesson(tmp_path / "lesson", lines=200, hours=1)
    server = serving(lesson.path)
    try:
        page = opened(window, server.address)
        page.evaluate("() => { for (const row of document.querySelectorAll('tr.line')) row.first = true; }")
        assert page.locator("tr.line").count() == 200
        page.wait_for_selector("tr[data-row=L001] .wave path")
        assert page.locator("#sheet .wave path").count() < 60
        drawn = page.locator("tr[data-row=L001] .wave path").first.element_handle()
        strip(page, "L150", 1).click()
        keys(page, "+", "+", "-")
        page.wait_for_selector("tr[data-row=L150] .wave path")
        assert page.locator("#sheet .wave path").count() < 120
        assert drawn.evaluate("path => path.isConnected"), "what was drawn is stretched, not drawn again"
        decided(page, lambda: keys(page, "o"))
        same = page.evaluate("() => [...document.querySelectorAll('tr.line')].filter(row => row.first).length")
        assert same == 148, "the line, the one whose pause leads to it, and those that play later now are made anew"
        assert len(page.evaluate("() => performance.getEntriesByName('zoom')")) >= 1
        page.close()
    finally:
        server.end()
