"""The faults of finished files: a lesson made by hand has none, and each check sees what is spoilt for it."""

from __future__ import annotations

from typing import Any

import pytest

from lessoncut.store import LessonFolder
from tests.evaluation import finished as module
from tests.evaluation.finished import FAULTS, finished, finished_metrics
from tests.workflow.lessons import PASSES, READ, made_lesson, script


@pytest.fixture(scope="module")
def lesson(tmp_path_factory: pytest.TempPathFactory) -> LessonFolder:
    place = tmp_path_factory.mktemp("made")
    return made_lesson(place / "lesson", place / "take.mp4")


def truth(*, without: str | None = None) -> dict[str, Any]:
    """What was really said in the lesson made by hand, less every reading of one line."""
    return {
        "schema": "lessoncut.analysis/1",
        "take": {"duration_s": 37.0},
        "lines": [{"id": line.id, "text": line.text, "in_passage": line.in_passage} for line in script().lines],
        "passes": [
            {"id": name, "kind": kind, "start_s": start_ms / 1000, "end_s": end_ms / 1000}
            for name, kind, start_ms, end_ms in PASSES
        ],
        "readings": [
            {
                "id": f"R{at}",
                "line": line,
                "pass": at_pass,
                "start_s": start_ms / 1000,
                "end_s": end_ms / 1000,
                "kind": "partial",
                "kept": False,
                "words": [],
            }
            for at, (line, at_pass, start_ms, end_ms) in enumerate(READ)
            if line != without
        ],
        "findings": [],
    }


def kinds(lesson: LessonFolder, true: dict[str, Any] | None = None) -> set[str]:
    return set(finished(lesson.path, true or truth()).counts) - {"caption_rules_broken"}


def test_a_lesson_made_by_hand_has_no_fault(lesson: LessonFolder) -> None:
    seen = finished(lesson.path, truth())
    assert set(seen.counts) <= {"caption_rules_broken"}
    assert seen.caption_words > 50
    metrics = finished_metrics([seen, seen])
    assert metrics["caption_words"] == 2 * seen.caption_words
    assert set(FAULTS) < set(metrics)


def test_a_word_where_nobody_spoke_is_seen_on_both_clocks(lesson: LessonFolder) -> None:
    faults = finished(lesson.path, truth(without="L005")).faults
    said = [fault.says for fault in faults if fault.kind == "caption_phantom_words"]
    assert len([one for one in said if one.startswith("lesson")]) == 4, "see you next week"
    assert len([one for one in said if one.startswith("take")]) == 4


def test_a_held_sound_that_does_not_play_is_seen(lesson: LessonFolder) -> None:
    playing, cut_off = ({"kind": "held", "start_s": at_s, "end_s": at_s + 1} for at_s in (5.0, 35.8))
    assert kinds(lesson, truth() | {"others": [playing]}) == set()
    assert kinds(lesson, truth() | {"others": [cut_off]}) == {"held_sounds_lost"}


@pytest.mark.parametrize(
    ("name", "old", "new", "kind"),
    [
        ("captions-webvtt", " --> ", " -> ", "caption_file_faults"),
        ("captions-srt", "\n00:00:00,", "\n00:00:01,", "caption_file_faults"),
        ("captions-ass", "Dialogue: 0,0:00:00", "Dialogue: 0,0:00:09", "caption_file_faults"),
        ("captions-ttml", ' begin="00:00:00', ' begin="00:00:01', "caption_file_faults"),
        ("chapters-json", '"startTime": 0.0', '"startTime": 0.1', "chapter_faults"),
        ("chapters-webvtt", "00:00:00.000 -->", "00:00:00.040 -->", "chapter_faults"),
        ("chapters-ffmetadata", "START=0\n", "START=1\n", "chapter_faults"),
        ("gap-sheet", "L002", "L003", "gap_sheet_faults"),
        ("gap-sheet", ".0", ".1", "gap_sheet_faults"),
    ],
)
def test_what_is_spoilt_is_seen(
    name: str, old: str, new: str, kind: str, lesson: LessonFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    written = module._written
    spoilt: list[bool] = []

    def spoil(programme: Any, which: str) -> str:
        content = written(programme, which)
        if which != name:
            return content
        spoilt.append(old in content)
        return content.replace(old, new)

    monkeypatch.setattr(module, "_written", spoil)
    found = kinds(lesson)
    assert any(spoilt), "there is something to spoil"
    assert found == {kind}
