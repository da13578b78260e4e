"""Every command that the pages show runs, in the order in which they show them."""

from __future__ import annotations

import json
import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from lessoncut.workflow.demo import copy_sample

ROOT = Path(__file__).parents[2]
PAGES = [ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md"))]
TRIED_ELSEWHERE = ("demo", "review", "batch")
"""The demo is what CI runs from the wheel; the review page serves until it is stopped, and has tests of its own, as has
the work through a folder."""
ALONE = ("outputs",)
"""Commands without arguments; of others a bare name in a sentence is no example."""


def shown_commands(page: Path) -> list[str]:
    """The lessoncut commands in a page's blocks and code spans, without their remarks."""
    text = page.read_text(encoding="utf-8")
    blocks = re.findall(r"^```(?:sh|console)\n(.*?)^```", text, flags=re.MULTILINE | re.DOTALL)
    lines = [line.removeprefix("$ ").split("  #")[0].strip() for block in blocks for line in block.splitlines()]
    spans = [" ".join(span.split()) for span in re.findall(r"`(lessoncut [^`]*)`", text)]
    whole = [span for span in spans if not re.search(r"[A-Z]{3,}|\.\.\.", span)]
    shown = [line for line in [*lines, *whole] if line.startswith("lessoncut ")]
    return [line for line in shown if len(line.split()) > 2 or line.split()[1] in ALONE]


def test_the_pages_show_commands() -> None:
    assert sum(len(shown_commands(page)) for page in PAGES) >= 15


@pytest.mark.slow
def test_every_shown_command_runs(tmp_path: Path) -> None:
    sample = copy_sample(tmp_path)
    sample.take.rename(tmp_path / "take.mp4")
    done: set[str] = set()
    for page in PAGES:
        for shown in shown_commands(page):
            arguments = shlex.split(shown)[1:]
            if shown not in done and arguments[0] not in TRIED_ELSEWHERE:
                run = lessoncut(_fitting(arguments, tmp_path, len(done)), tmp_path)
                assert run.returncode == 0, f"{page.name}: {shown}\n{run.stderr}"
                done.add(shown)
    assert {shlex.split(shown)[1] for shown in done} >= {"analyze", "show", "decide", "gaps", "export", "draft-script"}


def lessoncut(arguments: list[str], folder: Path) -> subprocess.CompletedProcess[str]:
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-m", "lessoncut", *arguments]
    return subprocess.run(command, cwd=folder, env=env, capture_output=True, text=True, check=False)


def _fitting(arguments: list[str], folder: Path, number: int) -> list[str]:
    """The example as it fits this lesson: a finding that has the choice, a script that is not there yet."""
    if arguments[0] == "decide":
        shown = json.loads(lessoncut(["show", arguments[1], "--json"], folder).stdout)
        having = [f["id"] for f in shown["findings"] if any(c["name"] == arguments[3] for c in f["choices"])]
        return [*arguments[:2], having[0], arguments[3]]
    if arguments[0] == "draft-script":
        return [f"draft{number}.md" if part == "script.md" else part for part in arguments]
    return arguments
