"""Every output of one small lesson, byte for byte. The golden files were read by a person before they were committed.

To renew them after a change that is meant: ``LESSONCUT_GOLDEN=write pytest tests/outputs/test_golden.py``, then read
the difference.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from lessoncut.errors import ChoiceError
from lessoncut.outputs import Output, all_outputs, named
from tests.outputs.programmes import harbour

GOLDEN = Path(__file__).parent / "golden"


@pytest.mark.parametrize("output", all_outputs(), ids=lambda output: output.name)
def test_the_output_is_the_golden_file(output: Output) -> None:
    path = GOLDEN / output.file_name("lesson")
    content = output.content(harbour())
    if os.environ.get("LESSONCUT_GOLDEN") == "write":
        path.write_bytes(content)
    assert content == path.read_bytes()


def test_no_golden_file_is_left_over() -> None:
    assert {path.name for path in GOLDEN.iterdir()} == {output.file_name("lesson") for output in all_outputs()}


def test_the_outputs_of_the_first_release_are_all_found_by_name() -> None:
    names = {output.name for output in all_outputs()}
    assert names >= {
        "caption-report",
        "caption-report-json",
        "captions-ass",
        "captions-srt",
        "captions-ttml",
        "captions-webvtt",
        "chapters-description",
        "chapters-ffmetadata",
        "chapters-json",
        "chapters-webvtt",
        "gap-sheet",
        "line-times",
    }
    assert named("gap-sheet").suffix == ".csv"


def test_a_module_is_named_after_its_output() -> None:
    for output in all_outputs():
        assert output.make.__module__ == f"lessoncut.outputs.{output.name.replace('-', '_')}"
        assert output.says and "\n" not in output.says


def test_an_unknown_output_is_refused_with_the_names_there_are() -> None:
    with pytest.raises(ChoiceError, match="captions-pdf") as caught:
        named("captions-pdf")
    assert "captions-srt" in str(caught.value)


def test_file_names_say_which_clock_they_are_on() -> None:
    assert named("captions-srt").file_name("lesson") == "captions-srt.srt"
    assert named("captions-srt").file_name("take") == "captions-srt.take.srt"
