"""The command line as a program of its own."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from lessoncut.store import LessonFolder
from tests.workflow.lessons import made_lesson

ROOT = Path(__file__).parents[2]

Run = Callable[..., subprocess.CompletedProcess[str]]


@pytest.fixture
def run(tmp_path: Path) -> Run:
    """Runs lessoncut with these arguments in the test's own folder."""
    env = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONWARNINGS": "error", "COLUMNS": "120", "PYTHONUTF8": "1"}

    def run_it(*arguments: object, **extra: str) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-m", "lessoncut", *map(str, arguments)]
        return subprocess.run(command, cwd=tmp_path, env={**env, **extra}, capture_output=True, text=True, check=False)

    return run_it


@pytest.fixture
def lesson(tmp_path: Path) -> LessonFolder:
    """A lesson folder made by hand, called ``lesson``."""
    return made_lesson(tmp_path / "lesson", tmp_path / "take.mp4")
