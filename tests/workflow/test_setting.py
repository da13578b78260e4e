"""What is set for the whole lesson: in the log, and where it was kept before."""

import json
from fractions import Fraction
from pathlib import Path

import pytest

from lessoncut.errors import LessonFolderError
from lessoncut.lesson.pacing import Pacing
from lessoncut.outputs.choices import Choices
from lessoncut.workflow.deciding import redo, undo
from lessoncut.workflow.lesson import pacing_of, remember_pacing
from lessoncut.workflow.studying import choices_of, remember_choices, targets_of
from tests.review.lessons import reviewed


def test_a_lesson_that_keeps_its_settings_in_files_of_their_own_is_read(tmp_path: Path) -> None:
    """As the first version wrote them; undo goes back to them."""
    folder = reviewed(tmp_path / "lesson")
    held = {
        "pacing": {"level": "A2", "factor": "5/2", "least_ms": 1100},
        "targets": {"sounds": "v/w"},
        "teaching": {"ipa": True, "paper": "letter"},
    }
    for name, record in held.items():
        spelt = json.dumps({"schema": f"lessoncut.{name}/1", "key": "", "record": record})
        (folder.path / f"{name}.json").write_text(spelt, encoding="utf-8")
    before = pacing_of(folder)
    assert (before.level, before.factor, before.least_ms) == ("A2", Fraction(5, 2), 1100)
    assert targets_of(folder).sounds == "v/w"
    assert choices_of(folder) == Choices(ipa=True, paper="letter")
    remember_pacing(folder, Pacing("C1"))
    assert pacing_of(folder) == Pacing("C1")
    undo(folder)
    assert pacing_of(folder) == before
    redo(folder)
    assert pacing_of(folder) == Pacing("C1")


def test_what_holds_already_adds_nothing(tmp_path: Path) -> None:
    folder = reviewed(tmp_path / "lesson")
    remember_choices(folder, Choices(ipa=True))
    once = folder.decisions_text()
    remember_choices(folder, Choices(ipa=True))
    assert folder.decisions_text() == once


@pytest.mark.parametrize(
    "values", ['{"level": "Z9"}', '{"level": 3}', '{"hats": 1}', '{"least_ms": 9000, "most_ms": 1}']
)
def test_a_setting_that_means_nothing_is_told_and_can_be_taken_back(tmp_path: Path, values: str) -> None:
    folder = reviewed(tmp_path / "lesson")
    begins = '{"does": "set", "number": 1, "at_utc": "2026-11-25T12:00:00Z", "name": "pacing", "values": '
    folder.add_decision_line(begins + values + "}")
    with pytest.raises(LessonFolderError, match="the gaps cannot be read"):
        pacing_of(folder)
    undo(folder)
    assert pacing_of(folder) == Pacing()
