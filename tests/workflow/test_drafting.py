"""A first script from the take itself, and the analysis that follows from it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from lessoncut.errors import InputError
from lessoncut.script.read import read_script
from lessoncut.workflow.analyze import Request, analyze
from lessoncut.workflow.drafting import write_draft
from lessoncut.workflow.records import HearingSettings
from tests.workflow.acting import SAID, Ears, perform

WITH_MISHAPS = SAID.replace(
    " 19.0  wind and waves never stop                    20.6\n",
    " 17.0  wind and                                     17.5\n"
    " 19.0  wind and waves never stop                    20.6\n"
    " 21.0  wind and waves never stop                    22.6\n",
)


def with_stops(said: str) -> str:
    """As a recogniser writes whole sentences: a capital and a stop."""
    return re.sub(r"(\d  )(\w)(.*\w)( +\d)", lambda m: f"{m[1]}{m[2].upper()}{m[3]}.{m[4]}", said)


@pytest.mark.parametrize("said", [SAID, WITH_MISHAPS], ids=["clean", "mishaps"])
def test_a_draft_is_a_script_that_its_take_follows(said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    ears = Ears(with_stops(said), monkeypatch)
    take, draft, lesson = perform(said, tmp_path / "take.wav"), tmp_path / "take.md", tmp_path / "lesson"
    write_draft((take,), draft, lesson, HearingSettings())
    script = read_script(draft)
    assert [line.text for line in script.passage] == [
        "The lamp turns every seven seconds.",
        "Wind and waves never stop.",
        "Vera climbs the winding stairs.",
    ]
    assert [line.text for line in script.lines if not line.in_passage] == [
        "Hello and welcome to the lighthouse.",
        "See you all next week.",
    ]
    found = analyze(Request((take,), draft), lesson).found
    assert ears.heard == 1, "what was heard for the draft is used again"
    assert [item.kind for item in found.match.passes] == ["model", "repeat"]
    assert found.match.script_share == 1.0
    assert {finding.kind for finding in found.findings} == (set() if said == SAID else {"repeated_line", "false_start"})


def test_a_draft_is_written_over_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    Ears(SAID, monkeypatch)
    (tmp_path / "take.md").write_text("mine")
    with pytest.raises(InputError, match="not written over"):
        write_draft((perform(SAID, tmp_path / "take.wav"),), tmp_path / "take.md", None, HearingSettings())
    assert (tmp_path / "take.md").read_text() == "mine"
