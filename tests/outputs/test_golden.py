"""The outputs of one small lesson, byte for byte. The golden files were read by a person before they were committed.

To renew them after a change that is meant: ``LESSONCUT_GOLDEN=write pytest tests/outputs/test_golden.py``, then read
the difference.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from lessoncut.errors import ChoiceError
from lessoncut.outputs import NotPossible, all_outputs, named
from lessoncut.outputs.base import Output
from tests.outputs.programmes import harbour, programme

GOLDEN = Path(__file__).parent / "golden"
FILES = (
    "caption-report-json.json",
    "caption-report.txt",
    "captions-ass.ass",
    "captions-srt.srt",
    "captions-ttml.ttml",
    "captions-webvtt.vtt",
    "chapters-description.txt",
    "chapters-ffmetadata.ffmetadata.txt",
    "chapters-json.json",
    "chapters-webvtt.vtt",
    "gap-sheet.csv",
    "line-times.txt",
)
"""Outputs that need no measuring of the voice; the others have tests of their own."""


TEXTS = tuple(kind for kind in all_outputs() if isinstance(kind, Output))
BY_FILE = {output.file_name("lesson"): output for output in TEXTS}


@pytest.mark.parametrize("name", FILES)
def test_the_output_is_the_golden_file(name: str) -> None:
    path = GOLDEN / name
    content = BY_FILE[name].content(harbour())
    if os.environ.get("LESSONCUT_GOLDEN") == "write":
        path.write_bytes(content)
    assert content == path.read_bytes()


def test_no_golden_file_is_left_over() -> None:
    assert {path.name for path in GOLDEN.iterdir()} == set(FILES)


def test_the_outputs_of_the_first_release_are_all_found_by_name() -> None:
    assert set(FILES) <= set(BY_FILE)
    assert named("gap-sheet").suffix == ".csv"


def test_a_module_is_named_after_its_output() -> None:
    for output in TEXTS:
        assert output.make.__module__ == f"lessoncut.outputs.{output.name.replace('-', '_')}"
        assert output.says and "\n" not in output.says


def test_an_unknown_output_is_refused_with_the_names_there_are() -> None:
    with pytest.raises(ChoiceError, match="captions-pdf") as caught:
        named("captions-pdf")
    assert "captions-srt" in str(caught.value)


def test_file_names_say_which_clock_they_are_on() -> None:
    assert named("captions-srt").file_name("lesson") == "captions-srt.srt"
    assert named("captions-srt").file_name("take") == "captions-srt.take.srt"


@pytest.mark.parametrize("name", [name for name in FILES if name != "chapters-description.txt"])
def test_a_lesson_of_nothing_is_still_a_file(name: str) -> None:
    assert isinstance(BY_FILE[name].content(programme([], parts=[], duration_ms=0)), bytes)


def test_a_description_of_nothing_is_refused_and_says_why() -> None:
    with pytest.raises(NotPossible, match="3 chapters"):
        BY_FILE["chapters-description.txt"].content(programme([], parts=[], duration_ms=0))
