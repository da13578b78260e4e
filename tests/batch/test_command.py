"""``lessoncut batch`` as a program of its own."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from lessoncut.store import LessonFolder

ROOT = Path(__file__).parents[2]
READER = ROOT / "sample_media" / "reader"
WITHOUT = "import sys; sys.modules['distributed'] = None; from lessoncut.cli import main; main()"
MOST_S = 300.0


def start(*arguments: object, code: str | None = None) -> subprocess.Popen[str]:
    program = ["-m", "lessoncut"] if code is None else ["-c", code]
    command = [sys.executable, *program, "batch", *map(str, arguments)]
    env = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUTF8": "1", "COLUMNS": "120"}
    pipe = subprocess.PIPE
    return subprocess.Popen(command, env=env, stdout=pipe, stderr=pipe, text=True, start_new_session=True)


def finish(process: subprocess.Popen[str]) -> tuple[int, str, str]:
    answer, remarks = process.communicate(timeout=MOST_S)
    return process.returncode, answer, remarks


def test_without_the_extra_it_says_what_to_install(tmp_path: Path) -> None:
    code, answer, remarks = finish(start(tmp_path, code=WITHOUT))
    assert (code, answer) == (3, "")
    assert "need dask.distributed and its keys, which are not installed" in " ".join(remarks.split())
    assert "pip install 'lessoncut[batch]'" in remarks


def test_a_folder_without_pairs(tmp_path: Path) -> None:
    pytest.importorskip("distributed")
    (tmp_path / "monday.mp4").write_bytes(b"")
    code, answer, remarks = finish(start(tmp_path))
    assert (code, answer) == (2, "")
    assert f"Left out: {tmp_path / 'monday.mp4'}: no script of this name." in " ".join(remarks.split())
    assert "no take with its script is here" in remarks
    assert sorted(path.name for path in tmp_path.iterdir()) == ["monday.mp4"]


def test_broken_lessons_are_told_in_table_json_and_exit_code(tmp_path: Path) -> None:
    pytest.importorskip("distributed")
    for name in ("monday", "tuesday"):
        (tmp_path / f"{name}.mp4").write_bytes(b"not a recording " * 64)
        (tmp_path / f"{name}.md").write_text("# Lesson\n\nHello there.\n", encoding="utf-8")
    code, answer, remarks = finish(start(tmp_path, "--workers", 1, "--json"))
    assert code == 2, remarks
    report = json.loads(answer)
    assert report == json.loads((tmp_path / "lessons" / "batch.json").read_text(encoding="utf-8"))
    assert [(one["name"], one["state"], one["code"]) for one in report["lessons"]] == [
        ("monday", "failed", 2),
        ("tuesday", "failed", 2),
    ]
    assert all("this is not a recording" in one["says"][0] for one in report["lessons"])
    assert "2 of 2" in remarks
    assert [path.name for path in (tmp_path / "lessons").iterdir()] == ["batch.json"], "a useless folder was left"


@pytest.mark.slow
def test_real_lessons_one_worker_killed_one_lesson_broken_then_again(tmp_path: Path) -> None:
    pytest.importorskip("distributed")
    for name in ("monday", "tuesday", "wednesday"):
        shutil.copy(READER / "reader.m4a", tmp_path / f"{name}.m4a")
        shutil.copy(READER / "script.md", tmp_path / f"{name}.md")
    (tmp_path / "broken.mp4").write_bytes(b"not a recording " * 64)
    (tmp_path / "broken.md").write_text("# Lesson\n\nHello there.\n", encoding="utf-8")
    arguments = (tmp_path, "--workers", 2, "--only", "captions-webvtt", "--json")
    process = start(*arguments)
    kept = _kill_the_worker_on(tmp_path / "lessons" / "monday", process)
    code, answer, remarks = finish(process)
    assert code == 2, remarks
    states = {"broken": "failed", "monday": "done", "tuesday": "done", "wednesday": "done"}
    assert _states(answer) == states
    packs = (tmp_path / "lessons" / "monday" / "work" / "packs.jsonl").read_text(encoding="utf-8")
    assert packs.startswith(kept), "what the killed worker had heard was heard again"
    found = {json.dumps(_readings(tmp_path / "lessons" / name)) for name in ("monday", "tuesday", "wednesday")}
    assert len(found) == 1, "the killed lesson came out differently"
    for name in ("monday", "tuesday", "wednesday"):
        assert LessonFolder(tmp_path / "lessons" / name).exported("captions-webvtt.vtt")
        assert not list((tmp_path / "lessons" / name).rglob(".part-*"))

    (tmp_path / "lessons" / "tuesday" / "outputs" / "captions-webvtt.vtt").unlink()
    code, answer, remarks = finish(start(*arguments))
    assert code == 2, remarks
    assert _states(answer) == {**states, "monday": "as before", "wednesday": "as before"}
    assert LessonFolder(tmp_path / "lessons" / "tuesday").exported("captions-webvtt.vtt")


@pytest.mark.slow
def test_ctrl_c_ends_every_worker_and_keeps_what_was_done(tmp_path: Path) -> None:
    pytest.importorskip("distributed")
    shutil.copy(READER / "reader.m4a", tmp_path / "monday.m4a")
    shutil.copy(READER / "script.md", tmp_path / "monday.md")
    process = start(tmp_path, "--workers", 1)
    packs = tmp_path / "lessons" / "monday" / "work" / "packs.jsonl"
    _wait_for_a_pack(packs, process)
    os.killpg(process.pid, signal.SIGINT)
    code, _, remarks = finish(process)
    assert code == 130, remarks
    assert "What was done so far is kept" in " ".join(remarks.split())
    assert "Traceback" not in remarks
    with LessonFolder(tmp_path / "lessons" / "monday").locked():
        assert packs.read_text(encoding="utf-8").count("\n") > 1


def _kill_the_worker_on(lesson: Path, process: subprocess.Popen[str]) -> str:
    """Kills it once it has heard something; gives what it had kept by then."""
    _wait_for_a_pack(lesson / "work" / "packs.jsonl", process)
    holder = (lesson / "work" / "lock").read_text(encoding="utf-8")
    kept = (lesson / "work" / "packs.jsonl").read_text(encoding="utf-8")
    os.kill(int(holder.split()[1].rstrip(",")), signal.SIGKILL)
    return kept[: kept.rindex("\n") + 1]


def _wait_for_a_pack(packs: Path, process: subprocess.Popen[str]) -> None:
    until_s = time.monotonic() + MOST_S
    while not packs.exists() or packs.read_text(encoding="utf-8").count("\n") < 2:
        assert process.poll() is None, "it ended before anything was heard"
        assert time.monotonic() < until_s
        time.sleep(0.01)


def _states(answer: str) -> dict[str, str]:
    return {one["name"]: one["state"] for one in json.loads(answer)["lessons"]}


def _readings(lesson: Path) -> list[Any]:
    found = json.loads((lesson / "analysis.json").read_text(encoding="utf-8"))["readings"]
    return [(one["line"], one["pass"], one["start_s"], one["end_s"], one["kept"]) for one in found]
