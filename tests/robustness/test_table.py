"""Bad input, tried on purpose: each case with its exit code and its words, and nothing lost or left behind."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.robustness import bad_places, bad_scripts, bad_takes, bad_tools, odd_takes, real_takes
from tests.robustness.scene import Scene
from tests.robustness.table import Case

TABLE: tuple[Case, ...] = (
    *bad_takes.CASES,
    *odd_takes.CASES,
    *real_takes.CASES,
    *bad_scripts.CASES,
    *bad_places.CASES,
    *bad_tools.CASES,
)


@pytest.fixture
def scene(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Scene]:
    """Whatever a case makes is taken away again, and no file for a while was forgotten in the system's folder."""
    (tmp_path / "tmp").mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "tmp"))
    monkeypatch.setenv("TMPDIR", str(tmp_path / "tmp"))
    made = Scene(tmp_path / "scene", monkeypatch)
    yield made
    for finish in reversed(made.finishing):
        finish()
    left = list((tmp_path / "tmp").iterdir())
    shutil.rmtree(tmp_path, ignore_errors=True)
    assert left == []


@pytest.mark.parametrize(
    "case", [pytest.param(case, id=case.name, marks=[pytest.mark.slow] if case.slow else []) for case in TABLE]
)
def test_case(case: Case, scene: Scene) -> None:
    case.check(scene)


def test_the_table_has_no_case_twice() -> None:
    names = [case.name for case in TABLE]
    assert len(names) == len(set(names))
    assert len(names) >= 60
