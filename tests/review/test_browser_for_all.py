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

INK = """line => {
  const strip = document.querySelector(`tr[data-row=${line}] .strip`).getBoundingClientRect();
  return [...document.querySelectorAll('#sheet canvas')].some(canvas => {
    const box = canvas.getBoundingClientRect();
    const fine = canvas.width / box.width;
    const [x, y] = [strip.left - box.left, Math.max(0, strip.top - box.top)];
    if (strip.bottom <= box.top || strip.top >= box.bottom) return false;
    const seen = canvas.getContext('2d').getImageData(x * fine, y * fine, strip.width * fine, strip.height * fine);
    return seen.data.some(value => value);
  });
}"""
"""Whether something is drawn over the line's first strip."""
COLOUR = """line => {
  const strip = document.querySelector(`tr[data-row=${line}] .strip`).getBoundingClientRect();
  for (const canvas of document.querySelectorAll('#sheet canvas')) {
    const box = canvas.getBoundingClientRect();
    if (strip.bottom <= box.top || strip.top >= box.bottom) continue;
    const seen = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height).data;
    const at = seen.findIndex((value, at) => at % 4 === 3 && value === 255);
    if (at > 0) return [...seen.slice(at - 3, at)];
  }
  return [];
}"""
"""Red, green and blue of the first full pixel that is drawn there."""
CANVASES = "() => [...document.querySelectorAll('#sheet canvas')].reduce((sum, one) => sum + one.clientHeight, 0)"
NOW_WIDE = "document.querySelectorAll('tr[data-row=L150] td')[1].querySelector('.strip').offsetWidth"

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
        assert page.locator("#view .says bdi").inner_text() == HOSTILE[2], "its direction is its own"
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
        page.wait_for_function(INK, arg="L001")
        most = page.evaluate("() => document.querySelector('#sheet').clientHeight + 500")
        assert page.evaluate(CANVASES) <= most
        strip(page, "L150", 1).click()
        wide = strip(page, "L150", 1).bounding_box()["width"]
        keys(page, "+", "+", "+", "-")
        page.wait_for_function(INK, arg="L150")
        page.wait_for_function(f"() => performance.getEntriesByName('zoom').length && {NOW_WIDE} > {wide + 10}")
        assert page.evaluate(CANVASES) <= most, "what is out of sight has no drawing"
        decided(page, lambda: keys(page, "o"))
        same = page.evaluate("() => [...document.querySelectorAll('tr.line')].filter(row => row.first).length")
        assert same == 148, "the line, the one whose pause leads to it, and those that play later now are made anew"
        page.close()
    finally:
        server.end()


def test_a_larger_scale_shows_less_of_each_line_and_is_gone_along(page: Any) -> None:
    """The columns stay; what lies outside is a stub at its edge, and comes into sight when it is taken in hand."""
    first, second = strip(page, "L004", 0), strip(page, "L004", 1)
    first.click()
    keys(page, "Escape")
    sheet = page.locator("#sheet")
    before = (first.bounding_box(), second.bounding_box(), sheet.evaluate("one => one.scrollWidth"))
    keys(page, *["+"] * 8)
    page.wait_for_function(
        "() => document.querySelector('#sheet').scrollWidth > document.querySelector('#sheet').clientWidth"
    )
    assert first.bounding_box()["x"] == before[0]["x"] and second.bounding_box()["x"] == before[1]["x"]
    assert first.bounding_box()["width"] > before[0]["width"]
    for _ in range(200):
        keys(page, ">")
        if "away" in str(first.get_attribute("class")):
            break
    assert 0 < first.bounding_box()["width"] < 10 and first.bounding_box()["x"] == pytest.approx(before[0]["x"], abs=1)
    keys(page, "ArrowRight")
    assert "away" not in str(second.get_attribute("class")), "what is in hand is seen"
    keys(page, "0")
    page.wait_for_function("wide => document.querySelector('#sheet').scrollWidth === wide", arg=before[2])
    assert (first.bounding_box(), second.bounding_box()) == before[:2]


def test_the_sound_is_sharp_on_fine_screens_and_takes_the_colours_of_the_system(chromium: Any, server: str) -> None:
    colours = []
    for scheme, forced, fine in (("light", "none", 1), ("dark", "none", 2), ("light", "active", 1.5)):
        context = chromium.new_context(color_scheme=scheme, forced_colors=forced, device_scale_factor=fine)
        page = opened(context, server)
        page.wait_for_function(INK, arg="L001")
        tile = page.locator("#sheet canvas").first.evaluate("one => [one.width, one.clientWidth]")
        assert tile[0] == round(tile[1] * fine)
        colours.append(page.locator("tr[data-row=L001] .strip").evaluate("one => getComputedStyle(one).color"))
        drawn = page.evaluate(COLOUR, "L001")
        assert f"rgb({', '.join(map(str, drawn))})" == colours[-1]
        page.emulate_media(color_scheme="dark" if scheme == "light" else "light")
        if forced == "none":
            page.wait_for_function(f"() => String(({COLOUR})('L001')) !== '{','.join(map(str, drawn))}'")
        context.close()
    assert len(set(colours)) == 3
