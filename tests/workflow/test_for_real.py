"""The sample lesson with the real recogniser, as a program of its own."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from lessoncut.workflow.demo import copy_sample

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parents[2]
WATCHED = """
import atexit, json, sys
def told():
    slow = ("faster_whisper", "ctranslate2", "onnxruntime", "pocketsphinx", "scipy", "av", "huggingface_hub")
    print("LOADED", json.dumps([name for name in slow if name in sys.modules]), file=sys.stderr)
atexit.register(told)
from lessoncut.cli import main
main()
"""


def start(arguments: list[str | Path]) -> subprocess.Popen[str]:
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-c", WATCHED, *map(str, arguments)]
    return subprocess.Popen(command, env=env, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def finish(arguments: list[str | Path]) -> tuple[int, str]:
    with start(arguments) as process:
        _, told = process.communicate()
    return process.returncode, told


@pytest.fixture(scope="module")
def analyzed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[list[str | Path]]:
    """The arguments of an analysis that has just been done."""
    sample = copy_sample(tmp_path_factory.mktemp("demo"))
    arguments: list[str | Path] = ["analyze", sample.take, sample.script, "--lesson", sample.lesson]
    code, told = finish(arguments)
    assert code == 0, told
    yield arguments


def test_the_second_analysis_loads_no_model(analyzed: list[str | Path]) -> None:
    code, told = finish(analyzed)
    assert code == 0
    assert "LOADED []" in told


def test_ctrl_c_keeps_what_was_heard(analyzed: list[str | Path], tmp_path: Path) -> None:
    arguments = [*analyzed[:-1], tmp_path / "lesson"]
    packs = tmp_path / "lesson" / "work" / "packs.jsonl"
    with start(arguments) as process:
        _wait_for(packs, process)
        process.send_signal(signal.SIGINT)
        _, told = process.communicate()
    assert process.returncode == 130
    assert "What was done so far is kept" in told
    kept = packs.read_text().count("\n")
    code, told = finish(arguments)
    assert code == 0, told
    assert packs.read_text().count("\n") >= kept
    assert _readings(tmp_path / "lesson") == _readings(Path(analyzed[-1]))


@pytest.mark.parametrize("after_s", [1.0, 3.0, 6.0])
def test_a_killed_analysis_is_taken_up_again(analyzed: list[str | Path], tmp_path: Path, after_s: float) -> None:
    arguments = [*analyzed[:-1], tmp_path / "lesson"]
    with start(arguments) as process:
        time.sleep(after_s)
        process.kill()
        process.communicate()
    for path in (tmp_path / "lesson").rglob("*.json"):
        json.loads(path.read_text(encoding="utf-8"))
    code, told = finish(arguments)
    assert code == 0, told
    assert _readings(tmp_path / "lesson") == _readings(Path(analyzed[-1]))
    assert not list((tmp_path / "lesson").rglob(".part-*"))


def _wait_for(path: Path, process: subprocess.Popen[str]) -> None:
    """Until the first pack has been kept."""
    while process.poll() is None:
        if path.exists() and path.read_text().count("\n") > 1:
            return
        time.sleep(0.02)
    raise AssertionError("the analysis ended before a pack was kept")


def _readings(lesson: Path) -> object:
    """What was read and where; confidences shift in the last digit with the company a pack is heard in."""
    found = json.loads((lesson / "analysis.json").read_text(encoding="utf-8"))["readings"]
    return [(one["line"], one["pass"], one["start_s"], one["end_s"], one["kept"]) for one in found]
