"""The page in a real browser: what is done there is shown there and stored."""

from __future__ import annotations

import re
import signal
from dataclasses import replace
from functools import partial
from typing import Any

import pytest

from lessoncut.lesson.pacing import Pacing, gap_size
from lessoncut.store import LessonFolder
from lessoncut.workflow.lesson import paced, pacing_of
from lessoncut.workflow.opened import opened as reopened
from lessoncut.workflow.studying import targets_of
from tests.review.conftest import opened
from tests.review.driving import decided, keys, strip
from tests.review.serving import serving

pytestmark = pytest.mark.browser


# -- findings -------------------------------------------------------------------------------------------------


def test_all_findings_by_keyboard_alone(page: Any, lesson: LessonFolder) -> None:
    """Each is decided by a number key; the page goes on to the next by itself."""
    wishes = {"false_start": "leave_in", "repeated_line": "keep_earlier", "dropped_line": "borrow",
              "stray_sound": "cut_out", "ad_lib": "keep"}  # fmt: skip
    findings = reopened(lesson).found.findings
    assert {finding.kind for finding in findings} == set(wishes)
    for finding in findings:
        assert page.locator("#view .says").inner_text() == finding.says
        names = [choice.name for choice in finding.choices]
        decided(page, partial(keys, page, str(names.index(wishes[finding.kind]) + 1)))
    settled = reopened(lesson).resolved.settled
    assert {item.finding.kind: item.choice for item in settled} == wishes
    assert all(item.decision for item in settled)
    assert "5 of 5" in page.locator("#totals").inner_text()
    page.wait_for_selector("#notes >> text=All findings are decided.")
    assert page.locator("#view .badge.decided").count() == 1
    assert page.locator(".flag").count() == 0


def test_evidence_is_shown_and_the_suggestion_stands_first(page: Any, lesson: LessonFolder) -> None:
    first = reopened(lesson).found.findings[0]
    assert page.locator(".choice").first.inner_text().replace("\n", " ").startswith(f"1 {first.choices[0].says}")
    assert "suggested" in page.locator(".choice").first.inner_text()
    assert page.locator(".compared del").inner_text() == "never stop"
    assert page.locator(".compared ins").inner_text() == "not heard"
    keys(page, "Enter")
    page.wait_for_selector("#totals >> text=1 of 5")
    assert reopened(lesson).resolved.settled[0].choice == first.choices[0].name


def test_undo_and_redo(page: Any, lesson: LessonFolder) -> None:
    decided(page, lambda: keys(page, "2"))
    assert len(reopened(lesson).resolved.open) == 4
    decided(page, lambda: keys(page, "u"))
    assert len(reopened(lesson).resolved.open) == 5 and page.locator("#totals").inner_text().count("0 of 5") == 1
    decided(page, lambda: keys(page, "Control+y"))
    assert len(reopened(lesson).resolved.open) == 4
    assert page.locator("#redo").is_disabled()


def test_a_repetition_is_marked_as_meant(page: Any, lesson: LessonFolder) -> None:
    page.locator(".flag", has_text="F02").click()
    choice = page.locator(".choice", has_text="the repetition is meant")
    decided(page, partial(keys, page, choice.locator("kbd").inner_text()))
    slots = {(slot.line_id, slot.pass_id): slot.reading_ids for slot in reopened(lesson).effects.slots}
    assert slots["L002", "P2"] == ("R006", "R007")
    assert ["plays" in strip(page, "L002", 1, lane).get_attribute("class") for lane in (0, 1)] == [True, True]
    marks = paced(reopened(lesson), pacing_of(lesson)).marks
    assert [mark.line_id for mark in marks.items if mark.pass_id == "P2"].count("L002") == 2
    decided(page, lambda: keys(page, "u"))
    assert "plays" not in strip(page, "L002", 1, 0).get_attribute("class")


# -- lines ----------------------------------------------------------------------------------------------------


def test_another_reading_is_kept_and_a_line_left_out(page: Any, lesson: LessonFolder) -> None:
    strip(page, "L002", 1, 0).click()
    decided(page, lambda: keys(page, "k"))
    assert "plays" in strip(page, "L002", 1, 0).get_attribute("class")
    slots = {(slot.line_id, slot.pass_id): slot for slot in reopened(lesson).effects.slots}
    assert slots["L002", "P2"].reading_ids == ("R006",)
    decided(page, lambda: keys(page, "o"))
    assert "left out of the lesson" in page.locator("tr[data-row='L002']").inner_text()
    slots = {(slot.line_id, slot.pass_id): slot for slot in reopened(lesson).effects.slots}
    assert slots["L002", "P2"].reading_ids == ()


def test_what_is_half_out_of_sight_can_be_pressed(page: Any) -> None:
    """The row does not move away between pressing the mouse and letting it go."""
    page.set_viewport_size({"width": 1280, "height": 420})
    sheet = page.locator("#sheet").bounding_box()
    row = page.locator("tr[data-row='L004']").bounding_box()
    page.evaluate(
        "by => { document.querySelector('#sheet').scrollTop += by; }", row["y"] - sheet["y"] - sheet["height"] + 30
    )
    page.wait_for_timeout(100)
    box = strip(page, "L004", 0).bounding_box()
    page.mouse.move(box["x"] + 20, box["y"] + 8)
    page.mouse.down()
    page.wait_for_timeout(150)
    page.mouse.up()
    page.wait_for_selector("#view h2.words >> text=Vera climbs")


def test_a_missing_line_is_an_empty_slot_and_is_borrowed(page: Any, lesson: LessonFolder) -> None:
    page.locator(".flag", has_text="F03").click()
    names = [choice.name for choice in reopened(lesson).found.findings[2].choices]
    decided(page, partial(keys, page, str(names.index("leave_out") + 1)))
    slot = page.locator(".slot")
    assert "Not read in the repeat pass" in slot.inner_text()
    slot.click()
    keys(page, "i")
    decided(page, lambda: keys(page, "b"))
    assert page.locator(".slot").count() == 0
    assert "borrowed" in page.locator("tr[data-row='L003'] td").nth(1).inner_text()
    slots = {(slot.line_id, slot.pass_id): slot for slot in reopened(lesson).effects.slots}
    assert slots["L003", "P2"].source == "borrowed"


def test_an_edge_moves_by_ten_milliseconds_and_finds_quiet_when_dragged(page: Any, lesson: LessonFolder) -> None:
    strip(page, "L001", 0).click()
    before = reopened(lesson).found.match.readings[0].cut
    decided(page, lambda: keys(page, "[", "ArrowLeft", "ArrowLeft", "ArrowRight", "Shift+ArrowLeft"))
    assert reopened(lesson).effects.edges[0].cut.start_ms == before.start_ms - 110
    assert "edge moved" in page.locator("tr[data-row='L001']").inner_text()
    box = page.locator(".edge.end").bounding_box()
    page.mouse.move(box["x"] + 7, box["y"] + 20)
    page.mouse.down()
    page.mouse.move(box["x"] + 47, box["y"] + 20, steps=4)
    decided(page, page.mouse.up)
    assert reopened(lesson).effects.edges[0].cut.end_ms > before.end_ms + 200


def test_an_answer_that_comes_after_the_news_of_it_is_shown_once(page: Any, lesson: LessonFolder) -> None:
    """What is drawn anew while the mouse is on it can't be dragged: an answer and the news of it must not both draw."""
    strip(page, "L001", 0).click()
    keys(page, "[")
    page.evaluate("""() => {
        window.drawn = 0;
        const count = new MutationObserver(() => { window.drawn += 1; });
        count.observe(document.querySelector("#view"), { childList: true });
    }""")
    held: list[Any] = []
    page.route("**/decisions", lambda route: held.append((route, route.fetch())), times=1)
    keys(page, "ArrowLeft")
    page.wait_for_timeout(2000)
    ((late, answer),) = held
    assert len(reopened(lesson).effects.edges) == 1
    assert page.evaluate("() => window.drawn") == 0
    late.fulfill(response=answer)
    page.wait_for_function("revision => document.body.dataset.revision === revision", arg=answer.json()["revision"])
    page.wait_for_timeout(2000)
    assert page.evaluate("() => window.drawn") == 1
    assert "edge moved" in page.locator("tr[data-row='L001']").inner_text()


def test_news_that_was_asked_for_before_a_change_does_not_undo_it(page: Any, window: Any, server: str) -> None:
    other = opened(window, server)
    held: list[Any] = []
    page.route("**/state", lambda route: held.append((route, route.fetch())), times=1)
    decided(other, lambda: other.keyboard.press("2"))
    page.wait_for_timeout(1500)
    ((late, old),) = held
    decided(page, lambda: keys(page, "2"))
    shown = page.evaluate("() => document.body.dataset.revision")
    page.evaluate("""() => {
        window.revisions = [];
        const note = () => window.revisions.push(document.body.dataset.revision);
        new MutationObserver(note).observe(document.body, { attributeFilter: ["data-revision"] });
    }""")
    late.fulfill(response=old)
    page.wait_for_timeout(1500)
    assert set(page.evaluate("() => window.revisions")) <= {shown}


def test_a_gap_is_typed_and_dragged(page: Any, lesson: LessonFolder) -> None:
    strip(page, "L004", 1).click()
    keys(page, "g")
    page.keyboard.type("5.5")
    decided(page, lambda: keys(page, "Enter"))
    assert [gap.gap_ms for gap in reopened(lesson).effects.gaps] == [5500]
    assert page.locator("tr[data-row='L004'] .wanted").inner_text().startswith("gap 5.5 s")
    grip = page.locator("tr[data-row='L004'] .grip").bounding_box()
    page.mouse.move(grip["x"] + 4, grip["y"] + 9)
    page.mouse.down()
    page.mouse.move(grip["x"] - 60, grip["y"] + 9, steps=5)
    decided(page, page.mouse.up)
    (gap,) = reopened(lesson).effects.gaps
    assert 1500 < gap.gap_ms < 5500 and gap.gap_ms % 100 == 0


def test_talk_is_kept_and_left_out(page: Any, lesson: LessonFolder) -> None:
    page.locator("tr.aside .strip").click()
    decided(page, lambda: keys(page, "k"))
    assert "kept" in page.locator("tr.aside").inner_text()
    assert [aside.words[-2:] for aside in reopened(lesson).effects.asides] == [("is", "on")]
    decided(page, lambda: keys(page, "o"))
    assert reopened(lesson).effects.asides == ()


def test_a_caption_is_corrected(page: Any, lesson: LessonFolder) -> None:
    strip(page, "L001", 0).click()
    keys(page, "e")
    page.keyboard.type("Hello & <b>welcome</b>!")
    decided(page, lambda: keys(page, "Enter"))
    (worded,) = reopened(lesson).effects.wordings
    assert worded.text == "Hello & <b>welcome</b>!"
    assert page.locator("#caption").input_value() == worded.text
    assert "caption changed" in page.locator("tr[data-row='L001']").inner_text()


def test_chapters_are_renamed_hidden_shown_and_added(page: Any, lesson: LessonFolder) -> None:
    def titles() -> list[str]:
        at_hand = reopened(lesson)
        return [chapter.title for chapter in paced(at_hand, pacing_of(lesson)).lesson.chapters]

    keys(page, "Shift+C")
    page.locator("[data-name='chapter-0']").fill("Ahoy")
    decided(page, lambda: keys(page, "Enter"))
    assert titles()[0] == "Ahoy"
    decided(page, lambda: page.locator("[data-name='hide-1']").click())
    assert titles() == ["Ahoy", "The lamp room: repeat", "Goodbye"]
    decided(page, lambda: page.get_by_role("button", name="Show", exact=True).click())
    assert titles()[1] == "The lamp room: listen"
    strip(page, "L004", 0).click()
    keys(page, "t")
    page.keyboard.type("Vera")
    decided(page, lambda: keys(page, "Enter"))
    assert "Vera" in titles()
    keys(page, "Escape", "Shift+C")
    decided(page, lambda: page.get_by_role("button", name="Take away").click())
    assert "Vera" not in titles()


def test_gap_controls_show_the_totals_while_they_move(page: Any, lesson: LessonFolder) -> None:
    keys(page, "Shift+G")
    decided(page, lambda: page.locator("[data-name='level-A1']").check(force=True))
    assert pacing_of(lesson).level == "A1"
    before = paced(reopened(lesson), pacing_of(lesson)).timeline.duration_ms
    shown = page.locator("#totals dd").first.inner_text()
    assert shown == f"{round(before / 1000) // 60}:{round(before / 1000) % 60:02d}"
    slider = page.locator("[data-name='pacing-least_ms']")
    with page.expect_response(lambda answer: answer.url.endswith("/pacing")):
        slider.evaluate("one => { one.value = 8000; one.dispatchEvent(new Event('input')); }")
    page.wait_for_selector(".measures small >> text=+")
    assert pacing_of(lesson).least_ms == 1500, "moving is not keeping"
    decided(page, lambda: slider.dispatch_event("change"))
    assert pacing_of(lesson).least_ms == 8000
    assert gap_size(2000, 8, pacing_of(lesson)).gap_ms == 8000
    decided(page, lambda: page.locator("#undo").click())
    assert pacing_of(lesson).least_ms == 1500


@pytest.mark.parametrize(
    ("name", "kept"), [("split", {"split": False}), ("build_up", {"build_up": True}), ("hold", {"fill": "hold"})]
)
def test_how_gaps_and_long_lines_are_is_kept(page: Any, lesson: LessonFolder, name: str, kept: dict[str, Any]) -> None:
    keys(page, "Shift+G")
    box = page.locator(f"[data-name='pacing-{name}']")
    box.focus()
    decided(page, lambda: keys(page, "Space"))
    assert pacing_of(lesson) == replace(Pacing(), **kept)
    page.reload()
    page.wait_for_selector("#sheet .strip")
    keys(page, "Shift+G")
    assert box.is_checked() == (name != "split")
    decided(page, lambda: keys(page, "Escape", "u"))
    assert pacing_of(lesson) == Pacing()


# -- listening ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("key", "from_"), [(" ", "take"), ("p", "take"), ("c", "lesson"), ("w", "lesson"), ("l", "lesson")]
)
def test_everything_can_be_heard(page: Any, lesson: LessonFolder, key: str, from_: str) -> None:
    strip(page, "L004", 1).click()
    page.keyboard.press("Escape")
    # Noted by the page itself: what is heard may be over before a busy machine asks.
    note = "(event) => { window.heardFrom = event.target.currentTime; }"
    page.evaluate(f"() => document.querySelector('#{from_}').addEventListener('playing', {note}, {{ once: true }})")
    page.keyboard.press(key)
    page.wait_for_function("() => window.heardFrom !== undefined")
    at_s = page.evaluate("() => window.heardFrom")
    sheet = paced(reopened(lesson), pacing_of(lesson))
    mark = next(item for item in sheet.marks.items if (item.line_id, item.pass_id) == ("L004", "P2"))
    starts_s = {" ": 25.94, "p": 28.0, "c": mark.gap.lesson_span.end_ms / 1000 - 2,
                "w": mark.lesson_span.start_ms / 1000, "l": mark.lesson_span.start_ms / 1000}  # fmt: skip
    assert at_s == pytest.approx(starts_s[key], abs=1.5) and at_s >= starts_s[key] - 0.05
    assert page.locator("#player .label").inner_text()
    page.keyboard.press("Escape")
    page.wait_for_function(f"() => document.querySelector('#{from_}').paused")
    assert "Nothing plays" in page.locator("#player").inner_text()


def test_what_is_asked_for_before_the_take_has_come_plays_when_it_comes(server: str, window: Any) -> None:
    held: list[Any] = []
    window.route(lambda address: "/peaks?" in address, lambda route: held.append((route,)))
    page = opened(window, server)
    note = "() => { window.heard = true; }"
    page.evaluate(f"() => document.querySelector('#take').addEventListener('playing', {note})")
    strip(page, "L004", 1).click()
    page.wait_for_timeout(300)
    assert not page.evaluate("() => window.heard")
    held[0][0].continue_()
    page.wait_for_function("() => window.heard")
    page.wait_for_function("() => document.querySelector('#take').currentTime > 26")
    assert page.locator("#player .label").inner_text() == "Reading"


def test_a_gap_is_counted_down(page: Any) -> None:
    strip(page, "L004", 1).click()
    keys(page, "Escape", "w")
    page.wait_for_selector("#player .turn:visible >> text=left")
    first = float(re.findall(r"[\d.]+", page.locator("#player .turn").inner_text())[0])
    page.wait_for_timeout(700)
    assert float(re.findall(r"[\d.]+", page.locator("#player .turn").inner_text())[0]) < first
    bar = page.locator("tr[data-row='L004'] .wanted").bounding_box()
    head = page.locator("#sheet .head:visible").bounding_box()
    assert bar["x"] <= head["x"] + 2 <= bar["x"] + bar["width"]
    assert head["y"] <= bar["y"] <= head["y"] + head["height"]


# -- several tabs, a server that dies ---------------------------------------------------------------------------


def test_two_tabs_agree(page: Any, window: Any, server: str) -> None:
    other = opened(window, server)
    decided(page, lambda: keys(page, "2"))
    other.wait_for_selector("#totals >> text=1 of 5", timeout=5000)
    decided(other, lambda: other.keyboard.press("u"))
    page.wait_for_selector("#totals >> text=0 of 5", timeout=5000)
    page.reload()
    page.wait_for_selector("#totals >> text=0 of 5")


def test_what_is_being_written_stays_when_there_is_news(
    page: Any, window: Any, server: str, lesson: LessonFolder
) -> None:
    other = opened(window, server)
    strip(page, "L001", 0).click()
    keys(page, "e")
    page.keyboard.type("Half a cap")
    keys(page, "ArrowLeft", "ArrowLeft", "ArrowLeft")
    decided(other, lambda: other.keyboard.press("2"))
    page.wait_for_selector("#totals >> text=1 of 5", timeout=5000)
    page.keyboard.type("new ")
    assert page.locator("#caption").input_value() == "Half a new cap"
    decided(page, lambda: keys(page, "Enter"))
    assert [worded.text for worded in reopened(lesson).effects.wordings] == ["Half a new cap"]
    keys(page, "Escape", "x")
    page.locator("[data-name='targets']").focus()
    page.keyboard.type("v/w")
    decided(other, lambda: other.keyboard.press("2"))
    page.wait_for_selector("#totals >> text=2 of 5", timeout=5000)
    decided(page, lambda: keys(page, "Tab"))
    assert targets_of(lesson).sounds == "v/w"
    other.close()


def test_the_server_dies_and_nothing_is_lost(window: Any, lesson: LessonFolder) -> None:
    server = serving(lesson.path)
    page = opened(window, server.address)
    decided(page, lambda: keys(page, "2"))
    server.end(signal.SIGKILL)
    page.wait_for_selector("#notes >> text=The server has ended")
    keys(page, "1")
    page.wait_for_selector("#notes >> text=was not stored")
    assert "1 of 5" in page.locator("#totals").inner_text(), "what the server did not answer is not shown as made"
    page.close()
    window.faults.clear()  # the browser tells of every request that nobody answers
    again = serving(lesson.path)
    fresh = opened(window, again.address)
    assert "1 of 5" in fresh.locator("#totals").inner_text()
    fresh.close()
    again.end()
