"""Where everything is installed that tests need, one that is skipped fails the run."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
HOOKS = "from tests.conftest import pytest_addoption, pytest_sessionfinish"


@pytest.mark.parametrize(
    ("option", "body", "code"),
    [
        ("--none-skipped", "pytest.skip('no such thing here')", pytest.ExitCode.TESTS_FAILED),
        ("--none-skipped", "assert True", pytest.ExitCode.OK),
        ("--quiet", "pytest.skip('no such thing here')", pytest.ExitCode.OK),
    ],
)
def test_a_run_with_everything_there_skips_nothing(
    option: str, body: str, code: pytest.ExitCode, tmp_path: Path
) -> None:
    (tmp_path / "conftest.py").write_text(HOOKS, encoding="utf-8")
    (tmp_path / "test_one.py").write_text(f"import pytest\ndef test_it():\n    {body}\n", encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-p", "no:cacheprovider", option, str(tmp_path)],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == code, done.stdout + done.stderr
    assert ("1 skipped, and none may be" in done.stdout) is (code == pytest.ExitCode.TESTS_FAILED)
