"""A pick-up added to a lesson: heard by itself, matched into the place it was recorded for, and never half there."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile

from lessoncut.decisions.log import parse
from lessoncut.errors import TakeError
from lessoncut.store import LessonFolder
from lessoncut.take.samples import PER_MS, RATE_HZ
from lessoncut.workflow.analyze import Request, analyze
from lessoncut.workflow.deciding import redo, undo
from lessoncut.workflow.demo import copy_sample
from lessoncut.workflow.opened import Opened, opened
from lessoncut.workflow.picking_up import catch_up, lags, pick_up
from lessoncut.workflow.sound import Sound
from tests.workflow.acting import SAID, SCRIPT, Ears, perform

LACKING = SAID.replace(" 24.0  vera climbs the winding stairs               26.0\n", "")
PICKED_UP = "1.0  vera climbs the winding stairs  3.0"
BOTH = f"{LACKING}\n33.5  vera climbs the winding stairs  35.5"
"""The take is 32.5 s long."""


@pytest.fixture
def ears(monkeypatch: pytest.MonkeyPatch) -> Ears:
    return Ears(LACKING, monkeypatch)


def lacking(at: Path, ears: Ears) -> LessonFolder:
    """A lesson whose repeat pass lacks a line; its ears hear the pick-up as soon as there is one."""
    (at / "script.md").write_text(SCRIPT)
    take = perform(LACKING, at / "take.wav")
    folder = analyze(Request((take,), at / "script.md"), at / "lesson").folder
    ears.said = BOTH
    return folder


@pytest.fixture
def lesson(tmp_path: Path, ears: Ears) -> LessonFolder:
    return lacking(tmp_path, ears)


@pytest.fixture
def recording(lesson: LessonFolder) -> Path:
    return perform(PICKED_UP, lesson.pick_up_path("Vera again.wav"))


def source(at_hand: Opened) -> tuple[str, bool]:
    """Where the line that was missing comes from, and whether anything plays there."""
    slot = next(slot for slot in at_hand.effects.slots if (slot.line_id, slot.pass_id) == ("L004", "P2"))
    return slot.source, bool(slot.reading_ids)


def test_a_pick_up_fills_the_line_that_was_missing(lesson: LessonFolder, recording: Path, ears: Ears) -> None:
    assert [one.kind for one in opened(lesson).found.findings] == ["dropped_line"]
    asked = ears.asked
    at_hand = pick_up(lesson, recording)
    assert at_hand.found.findings == ()
    assert source(at_hand) == ("take", True), "read after the ending, it belongs to the pass that lacked it"
    assert at_hand.found.pick_ups[0].start_ms == 32_500
    assert ears.known_packs == ["0-1", "1-2", "2-3", "3-4"], "what was heard before is not heard again"
    assert ears.asked - asked < asked, "nor is it aligned again"
    assert not lags(at_hand)


def test_taken_back_and_brought_back(lesson: LessonFolder, recording: Path, ears: Ears) -> None:
    pick_up(lesson, recording)
    undone = undo(lesson)
    assert lags(undone)
    ears.said = LACKING
    assert [one.kind for one in catch_up(lesson).found.findings] == ["dropped_line"]
    assert lags(redo(lesson))
    ears.said = BOTH
    assert catch_up(lesson).found.findings == ()


def test_what_cannot_be_used_leaves_the_lesson_as_it_was(lesson: LessonFolder) -> None:
    before = opened(lesson)
    noise = lesson.pick_up_path("letter.wav")
    noise.write_bytes(b"no sound at all")
    with pytest.raises(TakeError):
        pick_up(lesson, noise)
    after = opened(lesson)
    assert (after.found, after.effects) == (before.found, before.effects)
    assert not lags(after)


def test_a_stop_in_the_middle_loses_nothing(lesson: LessonFolder, recording: Path, ears: Ears) -> None:
    ears.stop_after = 2
    with pytest.raises(KeyboardInterrupt):
        pick_up(lesson, recording)
    ears.stop_after = None
    assert [entry.choice for entry in parse(lesson.decisions_text()).entries] == ["add"]  # type: ignore[union-attr]
    assert lags(opened(lesson))
    assert catch_up(lesson).found.findings == ()


def test_the_lesson_folder_may_be_moved(lesson: LessonFolder, recording: Path, tmp_path: Path) -> None:
    pick_up(lesson, recording)
    moved = LessonFolder(lesson.path.rename(tmp_path / "elsewhere"))
    assert catch_up(moved).found.findings == ()
    assert Path(opened(moved).found.pick_up_paths[0]).is_relative_to(moved.path)


@pytest.mark.slow
def test_with_the_real_recogniser(tmp_path: Path) -> None:
    """The sample's missing line, picked up by its other reading; what was heard of the take is not heard again."""
    sample = copy_sample(tmp_path)
    first = analyze(Request((sample.take,), sample.script), sample.lesson)
    (lacking,) = [one for one in first.found.findings if one.kind == "dropped_line"]
    lent = next(reading for reading in first.found.match.readings if reading.line_id == lacking.line_id)
    samples = Sound(first.folder, first.found.take).samples()
    quiet = np.zeros(RATE_HZ, np.int16)
    around = lent.span.padded(200, 200)
    sound = np.concatenate([quiet, samples[around.start_ms * PER_MS : around.end_ms * PER_MS], quiet])
    recording = first.folder.pick_up_path("again.wav")
    soundfile.write(recording, sound, RATE_HZ, subtype="PCM_16")
    packs = first.folder.path / "work" / "packs.jsonl"
    before = packs.read_text(encoding="utf-8")
    lesson = pick_up(first.folder, recording)
    assert "dropped_line" not in {one.kind for one in lesson.found.findings}
    (filled,) = [slot for slot in lesson.effects.slots if (slot.line_id, slot.pass_id) == ("L013", "P2")]
    reading = next(one for one in lesson.found.match.readings if one.id in filled.reading_ids)
    assert reading.span.overlap_ms(lesson.found.pick_ups[0]) == reading.span.length_ms
    after = packs.read_text(encoding="utf-8")
    assert after.startswith(before)
    assert after.count("\n") - before.count("\n") <= before.count("\n") // 3


@pytest.mark.parametrize(
    ("told", "called"),
    [
        ("../../etc/passwd", "passwd"),
        ("..", "pick-up"),
        (".hidden.wav", "hidden.wav"),
        ("a<b>&c.m4a", "a_b__c.m4a"),
        ("übung 1.wav", "übung 1.wav"),
        ("", "pick-up"),
        ("x" * 300 + ".wav", "x" * 46 + ".wav"),
    ],
)
def test_names_from_elsewhere(lesson: LessonFolder, told: str, called: str) -> None:
    path = lesson.pick_up_path(told)
    assert path == lesson.path / "pick-ups" / called
    path.touch()
    assert lesson.pick_up_path(told) == path.with_stem(f"{path.stem} 1")
