"""Nothing leaves the machine: the whole job is done by processes that may not open an internet socket."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.robustness.denied import KILLED, no_network

ROOT = Path(__file__).parents[2]

DETECTOR = """
from faster_whisper.vad import get_vad_model
get_vad_model()
import time  # its first report comes after some seconds
time.sleep(6)
"""
"""What finds speech. Its engine, onnxruntime, sends reports of its use to its maker from version 1.32 on."""


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """An empty home: no model but the packaged one is there, and whatever is written is seen."""
    (tmp_path / "home").mkdir()
    (tmp_path / "tmp").mkdir()
    return tmp_path / "home"


def offline(home: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """Python with these arguments, from an empty home and without a network."""
    named = {name: value for name, value in os.environ.items() if not name.startswith(("ORT_", "HF_", "XDG_"))}
    env = named | {"HOME": str(home), "TMPDIR": str(home.parent / "tmp"), "PYTHONPATH": str(ROOT)}
    return subprocess.run(
        [sys.executable, *words],
        cwd=home.parent,
        env=env,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        check=False,
        preexec_fn=no_network(),
    )


def written(folder: Path) -> list[str]:
    return sorted(str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file())


@pytest.mark.parametrize(
    "tries",
    [
        "import socket; socket.create_connection(('127.0.0.1', 9))",
        "import socket; socket.socket(socket.AF_INET6, socket.SOCK_DGRAM)",
        "import urllib.request; urllib.request.urlopen('http://127.0.0.1:9')",
        "import subprocess, sys; sys.exit(subprocess.run([sys.executable, '-c', 'import socket; socket.socket()'])"
        ".returncode and __import__('os').kill(__import__('os').getpid(), 31))",
    ],
)
def test_who_tries_is_killed(home: Path, tries: str) -> None:
    """The control: without it the tests below could not fail."""
    assert offline(home, "-c", tries).returncode == KILLED


def test_the_speech_detector_reports_to_nobody(home: Path) -> None:
    done = offline(home, "-c", f"import lessoncut\n{DETECTOR}")
    assert done.returncode == 0, done.stderr
    assert written(home) == []
    assert written(home.parent / "tmp") == []


@pytest.mark.slow
def test_the_whole_job(home: Path) -> None:
    """Hear the sample with the packaged recogniser, decide, and write every output."""
    done = offline(home, "-m", "lessoncut", "demo", "--into", "demo")
    assert done.returncode == 0, done.stderr
    lesson = home.parent / "demo" / "lesson"
    analysis = json.loads((lesson / "analysis.json").read_text(encoding="utf-8"))
    (finding, *_) = analysis["findings"]
    decided = offline(home, "-m", "lessoncut", "decide", str(lesson), finding["id"], finding["choices"][0]["name"])
    assert decided.returncode == 0, decided.stderr
    assert {path.suffix for path in (lesson / "outputs").iterdir()} >= {".mp4", ".mp3", ".pdf", ".html", ".vtt", ".srt"}
    assert written(home) == []
    assert written(home.parent / "tmp") == []
