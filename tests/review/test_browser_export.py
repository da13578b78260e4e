"""The export from the page: the same files as the command line's, and each wish in its file."""

from __future__ import annotations

import shutil
import time
import zipfile
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from mutagen.id3 import ID3
from typer.testing import CliRunner

from lessoncut.cli.app import app
from lessoncut.outputs.choices import PLAIN
from lessoncut.script.records import Script
from lessoncut.store import LessonFolder
from lessoncut.workflow.analyze import Request, analyze
from lessoncut.workflow.cover import cover_of
from lessoncut.workflow.demo import copy_sample
from lessoncut.workflow.opened import opened as reopened
from lessoncut.workflow.studying import choices_of, targets_of
from tests.review.conftest import opened
from tests.review.driving import decided, keys
from tests.review.lessons import reviewed
from tests.review.serving import serving
from tests.take.making import ffmpeg
from tests.workflow.lessons import script

pytestmark = pytest.mark.browser


def in_groups() -> Script:
    """The lighthouse script, with a line that is said in two groups."""
    plain = script()
    return replace(
        plain,
        lines=tuple(replace(line, text=line.text.replace("Wind and", "Wind, and")) for line in plain.lines),
    )


@pytest.fixture
def lesson(tmp_path: Path) -> LessonFolder:
    return reviewed(tmp_path / "lesson", in_groups())


def test_export_by_keyboard_equals_the_command_line(page: Any, lesson: LessonFolder, tmp_path: Path) -> None:
    for number in ("2", "2", "1", "1", "2"):
        decided(page, partial(keys, page, number))
    exported_like_the_command_line(page, lesson, tmp_path / "twin")
    link = page.locator("a[data-name='link-captions-webvtt']")
    with page.expect_download() as download:
        link.click()
    ours = lesson.path / "outputs" / "captions-webvtt.vtt"
    assert Path(download.value.path()).read_bytes() == ours.read_bytes()


@pytest.mark.slow
def test_the_whole_sample_by_keyboard(window: Any, tmp_path: Path) -> None:
    sample = copy_sample(tmp_path)
    lesson = analyze(Request((sample.take,), sample.script), sample.lesson).folder
    server = serving(lesson.path)
    page = opened(window, server.address)
    count = len(reopened(lesson).found.findings)
    began_s = time.monotonic()
    for _ in range(count):
        decided(page, partial(keys, page, "Enter"))
    assert time.monotonic() - began_s < 180
    assert reopened(lesson).resolved.open == ()
    exported_like_the_command_line(page, lesson, tmp_path / "twin")
    page.close()
    server.end()


def exported_like_the_command_line(page: Any, lesson: LessonFolder, twin: Path) -> None:
    """Export with the keyboard, and the same decisions with the command; compare all files but those with a clock."""
    keys(page, "x", "Tab", "Enter")
    finished = "() => document.querySelector('#view .state') && !document.querySelector('#view progress')"
    page.wait_for_function(finished, timeout=600_000)
    shutil.copytree(lesson.path, twin)
    shutil.rmtree(twin / "outputs")
    done = CliRunner().invoke(app, ["export", str(twin)])
    assert done.exit_code == 0, done.output
    ours = {path.name: path.read_bytes() for path in (lesson.path / "outputs").iterdir()}
    theirs = {path.name: path.read_bytes() for path in (twin / "outputs").iterdir()}
    assert set(ours) == set(theirs) and len(ours) > 5
    with_a_clock = (".pdf", ".zip")
    assert [name for name in ours if ours[name] != theirs[name] and not name.endswith(with_a_clock)] == []


def test_the_export_as_the_teacher_wishes(page: Any, lesson: LessonFolder) -> None:
    keys(page, "x")
    sounds = page.locator("[data-name='targets']")
    sounds.fill("v/w")
    decided(page, lambda: keys(page, "Enter"))
    assert targets_of(lesson).sounds == "v/w"
    decided(page, lambda: page.locator("[data-name='ipa']").check())
    assert choices_of(lesson).ipa
    page.locator("[data-name='none']").click()
    assert page.locator("[data-name='export']").is_disabled()
    page.locator("[data-name='out-line-times']").check()
    page.locator("[data-name='loudness']").select_option("-18")
    page.locator("[data-name='high_pass']").check()
    page.locator("[data-name='with_model']").check()
    with page.expect_request(lambda request: request.url.endswith("/export")) as asked:
        page.get_by_role("button", name="Write the file").click()
    assert asked.value.post_data_json == {
        "outputs": ["line-times"], "loudness": -18, "high_pass": True, "prompt": False, "with_model": True,
    }  # fmt: skip
    page.wait_for_selector("a[data-name='link-line-times']")
    assert [path.name for path in (lesson.path / "outputs").iterdir()] == ["line-times.txt"]


def in_page(count: str, sign: str) -> Callable[[bytes, bytes], bool]:
    """Whether that stands in the file only before the change, or only after it."""
    before, after = count == "before", count == "after"
    return lambda old, new: (sign.encode() in old, sign.encode() in new) == (before, after)


def more_in_pack(old: Path, new: Path) -> bool:
    return [name for name in zipfile.ZipFile(new).namelist() if name not in zipfile.ZipFile(old).namelist()] != []


def exported(page: Any, lesson: LessonFolder, name: str) -> Path:
    """The file as the page writes it now, out of the way of the next one."""
    page.locator("[data-name='none']").click()
    page.locator(f"[data-name='out-{name}']").check()
    page.locator("[data-name='export']").click()
    written: list[Path] = []
    for _ in range(600):
        page.wait_for_timeout(100)
        assert page.locator("#view .wrong").count() == 0
        written = list((lesson.path / "outputs").glob(f"{name}.*"))
        if written:
            break
    page.wait_for_function("() => !document.querySelector('#view progress')")
    return written[0].rename(lesson.path.parent / f"{len(list(lesson.path.parent.iterdir()))} {written[0].name}")


def test_each_choice_of_the_handout_is_stored_and_seen_in_the_file(page: Any, lesson: LessonFolder) -> None:
    keys(page, "x")

    def select(value: str) -> Callable[[Any], None]:
        return lambda field: field.select_option(value)

    def write(value: str) -> Callable[[Any], None]:
        def written(field: Any) -> None:
            field.fill(value)
            keys(page, "Enter")

        return written

    def turn(field: Any) -> None:
        field.focus()
        keys(page, "Space")

    steps: list[tuple[str, Callable[[Any], None], object, str, str, str]] = [
        ("paper", select("letter"), "letter", "handout-html", "after", "size: letter"),
        ("ipa", turn, True, "handout-html", "after", 'class="ipa"'),
        ("melody", turn, True, "handout-html", "after", "<svg"),
        ("bars", turn, False, "handout-html", "before", 'class="bar"'),
        ("ties", turn, False, "handout-html", "before", 'class="tie"'),
        ("room", turn, False, "handout-html", "before", 'class="room"'),
        ("url", write("https://example.org/ferry"), "https://example.org/ferry", "handout-html", "after",
         'href="https://example.org/ferry'),
        ("your_turn", write("Now you"), "Now you", "captions-teaching-webvtt", "after", "Now you"),
    ]  # fmt: skip
    before: dict[str, bytes] = {}
    stands = PLAIN
    for name, change, value, output, where, sign in steps:
        if output not in before:
            before[output] = exported(page, lesson, output).read_bytes()
        decided(page, partial(change, page.locator(f"[data-name='{name}']")))
        stands = replace(stands, **{name: value})  # type: ignore[arg-type]
        assert choices_of(lesson) == stands
        after = exported(page, lesson, output).read_bytes()
        assert in_page(where, sign)(before[output], after), name
        before[output] = after
    page.reload()
    page.wait_for_selector("#sheet .strip")
    keys(page, "x")
    assert page.locator("[data-name='paper']").input_value() == "letter"
    checked = {name: page.locator(f"[data-name='{name}']").is_checked() for name in ("ipa", "melody", "bars", "room")}
    assert checked == {"ipa": True, "melody": True, "bars": False, "room": False}
    assert page.locator("[data-name='your_turn']").input_value() == "Now you"


def test_slow_versions_are_chosen_for_the_practice_pack(page: Any, lesson: LessonFolder) -> None:
    keys(page, "x")
    before = exported(page, lesson, "practice-pack")
    decided(page, lambda: page.locator("[data-name='slow']").check())
    assert choices_of(lesson).slow
    assert more_in_pack(before, exported(page, lesson, "practice-pack"))


def test_a_picture_for_the_tracks_is_chosen_kept_and_taken_away(
    page: Any, window: Any, lesson: LessonFolder, tmp_path: Path
) -> None:
    picture = tmp_path / "the lake.png"
    ffmpeg("-f", "lavfi", "-i", "testsrc2=s=64x64:d=1", "-frames:v", "1", picture)

    def choose(file: Path) -> None:
        with page.expect_file_chooser() as chooser:
            page.locator("[data-name='cover']").focus()
            keys(page, "Enter")
        chooser.value.set_files(file)

    keys(page, "x")
    choose(picture)
    page.wait_for_selector(".cover img")
    kept = cover_of(lesson)
    assert kept and kept.is_relative_to(lesson.path) and kept.read_bytes() == picture.read_bytes()
    picture.unlink()
    page.wait_for_function("() => document.querySelector('.cover img').naturalWidth === 64")
    track = exported(page, lesson, "practice-track-mp3")
    assert ID3(track).getall("APIC")[0].data == kept.read_bytes()
    page.reload()
    page.wait_for_selector("#sheet .strip")
    keys(page, "x")
    assert page.locator(".cover img").get_attribute("alt") == "the lake.png"
    decided(page, lambda: page.locator("[data-name='no-cover']").click())
    assert cover_of(lesson) is None and page.locator(".cover img").count() == 0
    assert not ID3(exported(page, lesson, "practice-track-mp3")).getall("APIC")
    decided(page, lambda: page.locator("#undo").click())
    assert cover_of(lesson) == kept
    other = tmp_path / "notes.png"
    other.write_bytes(b"GIF89a")
    choose(other)
    page.wait_for_selector("#notes >> text=neither a JPEG nor a PNG")
    assert cover_of(lesson) == kept
    window.faults.clear()  # the browser tells of every answer that is a refusal
