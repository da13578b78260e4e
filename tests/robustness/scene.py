"""A folder of its own for one case: a take, a script, a place for the lesson, and what became of them."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import shlex
import shutil
import subprocess
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray
from typer.testing import CliRunner

from lessoncut.cli.app import app
from lessoncut.hearing.told import told
from lessoncut.store import LessonFolder
from lessoncut.take.records import Picture, Take
from lessoncut.take.samples import RATE_HZ, Samples
from lessoncut.workflow.opened import opened
from tests.crash.whole import opens
from tests.workflow.acting import Ears

ROOT = Path(__file__).parents[2]

SCRIPT = """\
# Two sounds

## Welcome
Good morning to all of you.

## The valley {.passage}
The winter wind is wild.
Five vans wait in the valley.

## Goodbye
See you tomorrow evening.
"""

SAID = """
 0.5  good morning to all of you         1.5
 2.0  the winter wind is wild            3.0
 3.6  five vans wait in the valley       4.8
 6.0  the winter wind is wild            7.0
 9.0  five vans wait in the valley      10.2
12.0  see you tomorrow evening          13.0
"""
"""What a reader of the script says: everything, the passage twice."""

LENGTH_S = 14.0
NEAR_MS = 30
"""Codecs smear an onset, and a picture's clock rounds it: less than a frame at 30 frames a second."""
PERMITTED = "--bounding-set=-dac_override,-dac_read_search"
"""Without these, root may do no more than the permission bits say (capabilities(7))."""


def speech(rate_hz: int = RATE_HZ) -> NDArray[np.float64]:
    """Noise at -20 dB wherever somebody speaks, over a room at -66 dB; shape (samples,), full scale is 1."""
    noise = np.random.default_rng(7).standard_normal(round(LENGTH_S * rate_hz))
    loud = np.zeros(len(noise))
    for span in told(SAID).speech:
        loud[span.start_ms * rate_hz // 1000 : span.end_ms * rate_hz // 1000] = 1
    return noise * (0.0005 + 0.1 * loud)


@dataclass
class Scene:
    """``take``, ``script`` and ``lesson`` are what the command is given; a case may point them elsewhere."""

    at: Path
    monkeypatch: pytest.MonkeyPatch
    said: str = SAID
    language: str = "en"
    deaf: bool = False
    """Whether the project's own recogniser and aligner are used, and not what was told by hand."""
    env: dict[str, str] = field(default_factory=dict)
    more_takes: list[Path] = field(default_factory=list)
    finishing: list[Any] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.take = self.at / "take.wav"
        self.script = self.at / "script.md"
        self.lesson = self.at / "lesson"
        self.at.mkdir()
        soundfile.write(self.take, speech(), RATE_HZ, subtype="PCM_16")
        self.script.write_text(SCRIPT, encoding="utf-8")

    # -- making things ----------------------------------------------------------------------------------------------

    def analyzed(self) -> None:
        """The lesson as a first run leaves it."""
        code, said = self.run(self.words("analyze {take} {script} --lesson {lesson}"))
        assert code == 0, said

    def decided(self) -> None:
        """The same, with one decision of the teacher's."""
        self.analyzed()
        code, said = self.run(self.words("decide {lesson} --gap L003 set 3.0"))
        if code:
            raise AssertionError(said)

    # -- running ----------------------------------------------------------------------------------------------------

    def words(self, command: str) -> list[str]:
        """The command line, with ``{take}`` and the like as one word whatever is in their names."""
        named = {"take": [*self.more_takes, self.take], "script": [self.script], "lesson": [self.lesson],
                 "at": [self.at]}  # fmt: skip
        words: list[str] = []
        for word in shlex.split(command):
            name = word.strip("{}")
            if word == f"{{{name}}}" and name in named:
                words += map(str, named[name])
            else:
                words.append(word.replace("{at}", str(self.at)).replace("{lesson}", str(self.lesson)))
        return words

    def run(self, words: Sequence[str]) -> tuple[int, str]:
        """In this process: exit code and all that was said."""
        with self.monkeypatch.context() as patch, contextlib.chdir(self.at):
            if not self.deaf:
                Ears(self.said, patch, self.language)
            for name, value in self.env.items():
                patch.setenv(name, value)
            done = CliRunner().invoke(app, list(words), env={"COLUMNS": "1000"})
        return done.exit_code, " ".join((done.stdout + done.stderr).split())

    def run_alone(self, words: Sequence[str], *, as_permitted: bool = False) -> tuple[int, str]:
        """As a process of its own, which the permission bits bind, also where the tests run as root."""
        before: list[str] = []
        if as_permitted and os.geteuid() == 0:
            if shutil.which("setpriv") is None:
                pytest.skip("needs setpriv to give up root's rights")
            before = ["setpriv", PERMITTED]
        done = subprocess.run(
            [*before, sys.executable, "-m", "lessoncut", *words],
            cwd=self.at,
            env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUTF8": "1", "COLUMNS": "1000", **self.env},
            stdin=subprocess.DEVNULL,
            capture_output=True,
            check=False,
            timeout=120,
        )
        return done.returncode, " ".join((done.stdout + done.stderr).decode("utf-8", "replace").split())

    # -- looking ----------------------------------------------------------------------------------------------------

    def looks(self) -> dict[str, str]:
        """Everything in the folder by name: what it is, and the hash of what is in it."""
        return dict(_looks(self.at, self.at))

    def whole(self) -> LessonFolder:
        """The lesson, all of whose files are whole."""
        folder = opens(self.lesson)
        assert folder
        return folder

    @property
    def analysis(self) -> dict[str, Any]:
        made: dict[str, Any] = json.loads(LessonFolder(self.lesson).analysis_path.read_text(encoding="utf-8"))
        return made

    @property
    def known(self) -> Take:
        return opened(LessonFolder(self.lesson)).found.take

    @property
    def picture(self) -> Picture:
        picture = self.known.picture
        assert picture
        return picture

    @property
    def sound(self) -> Samples:
        (path,) = (self.lesson / "work").glob("sound-*.npy")
        samples: Samples = np.load(path)
        return samples

    def outputs(self) -> list[str]:
        folder = self.lesson / "outputs"
        return sorted(path.name for path in folder.iterdir()) if folder.exists() else []


def _looks(at: Path, root: Path) -> Iterator[tuple[str, str]]:
    for path in sorted(at.iterdir()):
        name = str(path.relative_to(root))
        if path.is_symlink():
            yield name, f"-> {path.readlink()}"
        elif path.is_dir():
            yield name, "folder"
            if os.access(path, os.R_OK | os.X_OK):
                yield from _looks(path, root)
        elif path.is_file():
            # A lock says who held it last; it is no content.
            yield name, "" if path.name == "lock" else hashlib.sha256(path.read_bytes()).hexdigest()
        else:
            yield name, "neither"


# -- what must be true of what was made -------------------------------------------------------------------------------


def onsets_ms(samples: Samples) -> list[float]:
    """Where the sound begins after 0.3 s of quiet or more; a frame of 5 ms counts as loud from -40 dB."""
    frames = samples[: len(samples) // 80 * 80].astype(np.float64).reshape(-1, 80) / 32768
    loud = np.flatnonzero(np.sqrt((frames**2).mean(axis=1)) > 0.01)
    return [at * 5.0 for index, at in enumerate(loud) if index == 0 or at - loud[index - 1] > 60]


def in_its_place(scene: Scene, late_ms: float = 0, near_ms: float = NEAR_MS) -> None:
    """Every utterance begins in the decoded sound where it was put into the recording."""
    wanted = [span.start_ms + late_ms for span in told(SAID).speech]
    found = onsets_ms(scene.sound)
    assert len(found) == len(wanted), found
    assert np.abs(np.subtract(found, wanted)).max() <= near_ms, found


def followed(scene: Scene) -> None:
    """All six readings are there and kept, the passage's in two passes, and there is nothing to decide."""
    analysis = scene.analysis
    read = [(one["line"], one["pass"], one["kind"], one["kept"]) for one in analysis["readings"]]
    assert read == [
        ("L001", None, "full", True), ("L002", "P1", "full", True), ("L003", "P1", "full", True),
        ("L002", "P2", "full", True), ("L003", "P2", "full", True), ("L004", None, "full", True),
    ]  # fmt: skip
    assert [one["kind"] for one in analysis["passes"]] == ["model", "repeat"]
    assert analysis["findings"] == []


def usual(scene: Scene) -> None:
    """The lesson of an ordinary take: as long as it is, every utterance in its place, the script followed."""
    assert scene.analysis["take"]["duration_s"] == pytest.approx(LENGTH_S, abs=0.09)
    in_its_place(scene)
    followed(scene)


def level_db(samples: Samples) -> float:
    """The root mean square of the first utterance, in dB under full scale."""
    inside = samples[600 * 16 : 1400 * 16].astype(np.float64) / 32768
    return float(20 * np.log10(np.sqrt((inside**2).mean())))
