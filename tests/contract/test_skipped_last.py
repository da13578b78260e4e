"""What one run skipped the next one runs, where everything is installed by then, and it fails where it cannot."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
HOOKS = "from tests.conftest import pytest_addoption, pytest_collection_modifyitems, pytest_sessionfinish"
BODY = """
import os, pytest
there = pytest.mark.skipif("THERE" not in os.environ, reason="not there")
def test_always():
    assert os.environ
@there
@pytest.mark.parametrize("which", [1, 2])
def test_of_what_is_there(which):
    assert os.environ["THERE"]
"""
MODULE = """
import os, pytest
if "THERE" not in os.environ:
    pytest.skip("not there", allow_module_level=True)
def test_of_the_module():
    assert os.environ["THERE"]
"""


def _run(folder: Path, *options: str, **there: str) -> tuple[int, str]:
    env = {**os.environ, "PYTHONPATH": str(ROOT), **there}
    command = [sys.executable, "-m", "pytest", *options, "."]
    done = subprocess.run(command, cwd=folder, env=env, capture_output=True, text=True, check=False)
    return done.returncode, done.stdout + done.stderr


@pytest.fixture
def suite(tmp_path: Path) -> Path:
    (tmp_path / "conftest.py").write_text(HOOKS, encoding="utf-8")
    (tmp_path / "test_one.py").write_text(BODY, encoding="utf-8")
    (tmp_path / "test_two.py").write_text(MODULE, encoding="utf-8")
    return tmp_path


def test_what_was_skipped_is_run(suite: Path) -> None:
    code, told = _run(suite, "-n", "2")
    assert code == pytest.ExitCode.OK and "1 passed, 3 skipped" in told
    code, told = _run(suite, "--skipped-last", "-n", "2", THERE="well")
    assert code == pytest.ExitCode.OK and "3 passed" in told
    code, told = _run(suite, "--skipped-last")
    assert code == pytest.ExitCode.TESTS_FAILED and "skipped again, and none may be" in told


def test_nothing_is_left_to_run_where_nothing_was_skipped(suite: Path) -> None:
    code, told = _run(suite, THERE="well")
    assert code == pytest.ExitCode.OK and "4 passed" in told
    code, told = _run(suite, "--skipped-last", THERE="well")
    assert code == pytest.ExitCode.OK and "4 deselected" in told


def test_without_a_run_before_there_is_nothing_to_go_by(suite: Path) -> None:
    code, told = _run(suite, "--skipped-last")
    assert code == pytest.ExitCode.USAGE_ERROR
    assert "nothing is known of a run before" in told
