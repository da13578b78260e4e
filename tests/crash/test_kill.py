"""kill -9 at random moments of analyze, decide, export and review: 200 of them in one run of the slow test.

Each time: the folder opens, every acknowledged decision is there, what stands under a final name is whole, and the
next run goes on from there to what an undisturbed run makes.
"""

from __future__ import annotations

import json
import random
import shutil
import threading
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass, replace
from functools import partial
from http.client import HTTPConnection, HTTPException
from itertools import count
from pathlib import Path
from socket import socket
from urllib.parse import urlsplit

import pytest
from uvicorn import Server

from lessoncut.decisions.records import Subject
from lessoncut.decisions.subjects import about_gap
from lessoncut.outputs import all_outputs
from lessoncut.outputs.base import Recording
from lessoncut.review.desk import Desk
from lessoncut.review.open import listening, served
from lessoncut.store import LessonFolder
from lessoncut.teaching.records import Study
from lessoncut.workflow.analyze import Request, analyze
from lessoncut.workflow.deciding import decide
from lessoncut.workflow.export import export
from lessoncut.workflow.lesson import Paced, paced, pacing_of
from lessoncut.workflow.opened import opened
from lessoncut.workflow.studying import Targets, studied
from tests.crash.killing import Say, finished, killed, running
from tests.crash.whole import decided, nothing_unfinished, opens
from tests.review.lessons import reviewed
from tests.workflow.acting import SAID, SCRIPT, Ears, perform

# The forked process does nothing with the threads of this one.
pytestmark = pytest.mark.filterwarnings("ignore:.*multi-threaded, use of fork:DeprecationWarning")

FEW = pytest.param(6, id="few")
FIRST = 59_000
SEED = 7
"""Of the moments; what they fall into is as random as the machine's scheduling."""


def many(kills: int) -> pytest.MarkDecorator:
    return pytest.mark.parametrize("kills", [FEW, pytest.param(kills, id=str(kills), marks=pytest.mark.slow)])


def moments(kills: int, most_s: float) -> Iterator[tuple[int, float]]:
    """Numbers, and how long after its beginning each work is killed."""
    rng = random.Random(SEED)
    return ((number, rng.uniform(0, most_s)) for number in range(kills))


# -- analyze ----------------------------------------------------------------------------------------------------------


def a_script(folder: Path, number: int) -> Path:
    """One of three, so that there is always something to match again."""
    path = folder / f"script{number % 3}.md"
    path.write_text(SCRIPT.replace("every seven seconds", ["", "every six seconds", "all night"][number % 3]))
    return path


@many(60)
def test_analyze(kills: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    ears = Ears(SAID, monkeypatch)
    takes = [perform(SAID, tmp_path / "take0.wav"), perform(SAID.replace("31.5", "31.9"), tmp_path / "take1.wav")]
    requests = [Request((takes[number % 2],), a_script(tmp_path, number)) for number in range(6)]
    at, undisturbed = tmp_path / "lesson", tmp_path / "undisturbed"
    analyze(requests[0], undisturbed)  # imports what is slow to import, once for all
    took_s = finished(lambda _: analyze(requests[0], tmp_path / "timed"))
    acknowledged = False
    begun: set[int] = set()
    """The analyses that may be there: the last acknowledged one, and what was begun since."""

    def work(first: int, say: Say) -> None:
        for number in count(first):
            analyze(requests[number % 6], at)
            say(str(number))

    for number, after_s in moments(kills, 1.5 * took_s):
        said = killed(partial(work, number), after_s)
        if said:
            acknowledged, begun = True, {int(said[-1]), int(said[-1]) + 1}
        else:
            begun.add(number)
        folder = opens(at)
        if acknowledged:
            assert folder is not None
            there = opened(folder).found
            assert (there.take.files[0].path, there.script_path) in {
                (str(requests[one % 6].takes[0]), str(requests[one % 6].script)) for one in begun
            }
        if number % 10 == 9 or number == kills - 1:
            finished(lambda _: analyze(requests[0], at))
            nothing_unfinished(at)
            assert _analysis(at) == _analysis(undisturbed), "it did not come out as if nothing had happened"
            shutil.rmtree(at)
            acknowledged = False
    assert ears.heard >= 1


def _analysis(at: Path) -> bytes:
    return (at / "analysis.json").read_bytes()


# -- decide -----------------------------------------------------------------------------------------------------------


def gap_of(folder: LessonFolder) -> Subject:
    """What a decision about the gap of the passage's first line is about."""
    spoken = opened(folder).found.script
    return about_gap(spoken.passage[0].id, spoken)


@many(60)
def test_decide(kills: int, tmp_path: Path) -> None:
    folder = reviewed(tmp_path / "lesson")
    subject = gap_of(folder)
    acknowledged: list[int] = []

    def work(first: int, say: Say) -> None:
        for value in count(first):
            decide(folder, subject, "set", value)
            say(str(value))

    took_s = finished(lambda _: decide(folder, subject, "set", FIRST))
    acknowledged.append(FIRST)
    for number, after_s in moments(kills, 3 * took_s):
        acknowledged += map(int, killed(partial(work, number * 900), after_s))
        stored = decided(LessonFolder(folder.path))
        assert [value for value in stored if value in set(acknowledged)] == acknowledged, "an acknowledged one is lost"
        assert len(stored) <= len(acknowledged) + number + 1, "more is there than one begun decision a kill"
        opens(folder.path)
        opened(folder)
    decide(folder, subject, "set", 59_999)
    assert decided(folder)[-1] == 59_999
    nothing_unfinished(folder.path)
    analysis = json.loads((folder.path / "analysis.json").read_text(encoding="utf-8"))
    assert analysis["schema"] == "lessoncut.analysis/1"


# -- export -----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Ways:
    """One lesson at two pacings, and the files of both: a name, and the content by pacing."""

    sheets: tuple[Paced, Paced]
    study: Study
    files: dict[str, set[bytes]]
    took_s: float


def two_ways(folder: LessonFolder) -> Ways:
    """Exported undisturbed, in processes of their own like all the others."""
    lesson = opened(folder)
    pacing = pacing_of(folder)
    sheets = paced(lesson, pacing), paced(lesson, replace(pacing, reaction_ms=2000))
    study = studied(lesson, Targets("v/w"))
    files: dict[str, set[bytes]] = {}
    for sheet in sheets:
        took_s = finished(partial(_export, sheet, study))
        for path in (folder.path / "outputs").iterdir():
            files.setdefault(path.name, set()).add(path.read_bytes())
            path.unlink()
    return Ways(sheets, study, files, took_s)


OUTPUTS = tuple(
    kind
    for kind in all_outputs()
    if kind.name in ("lesson-sound",) or not (isinstance(kind, Recording) or kind.name == "handout-pdf")
)
"""The quick ones, and one that ffmpeg makes. The PDF's library has threads that a fork does not take along."""


def _export(sheet: Paced, study: Study, _: Say) -> None:
    export(sheet, study, OUTPUTS)


@many(50)
def test_export(kills: int, tmp_path: Path) -> None:
    folder = reviewed(tmp_path / "lesson")
    ways = two_ways(folder)
    assert len(ways.files) > 10
    outputs = folder.path / "outputs"

    def work(say: Say) -> None:
        for number in count():
            export(ways.sheets[number % 2], ways.study, OUTPUTS)
            say("exported")

    for _, after_s in moments(kills, 1.2 * ways.took_s):
        said = killed(work, after_s)
        found = {path.name: path.read_bytes() for path in outputs.glob("[!.]*")}
        for name, content in found.items():
            assert content in ways.files[name], f"{name} is neither of the two"
        assert not said or found.keys() == ways.files.keys()
        opens(folder.path)
    finished(partial(_export, ways.sheets[0], ways.study))
    nothing_unfinished(folder.path)
    assert {path.name for path in outputs.iterdir()} == ways.files.keys()


# -- review -----------------------------------------------------------------------------------------------------------


class Page:
    """What the browser's page does: gets in by the link, and decides."""

    def __init__(self, address: str) -> None:
        self.address = address
        self.origin = address.partition("/?")[0]
        self.cookie = ""

    def enter(self) -> None:
        with closing(HTTPConnection(urlsplit(self.address).netloc, timeout=60)) as connection:
            connection.request("GET", "/" + self.address.rpartition("/")[2])
            self.cookie = (connection.getresponse().getheader("set-cookie") or "").partition(";")[0]

    def decide(self, value: int) -> bool:
        """Whether it was acknowledged."""
        body = json.dumps({"about": {"kind": "gap", "line": "L002"}, "choice": "set", "value": value})
        headers = {"cookie": self.cookie, "origin": self.origin, "content-type": "application/json"}
        with closing(HTTPConnection(urlsplit(self.address).netloc, timeout=60)) as connection:
            connection.request("POST", "/decisions", body, headers)
            answer = connection.getresponse()
            answer.read()
            return answer.status == 200


def _serve(server: Server, listener: socket, _: Say) -> None:
    server.run(sockets=[listener])


@many(40)
def test_review(kills: int, tmp_path: Path) -> None:
    folder = reviewed(tmp_path / "lesson")
    Desk(folder).seen()
    acknowledged: list[int] = []
    for number, after_s in moments(kills, 0.4):
        with listening(0) as listener:
            server, address = served(Desk(folder), listener)
            page = Page(address)
            with running(partial(_serve, server, listener)) as child:
                listener.close()  # the child has it: left open here, it would take calls that nobody answers
                page.enter()
                timer = threading.Timer(after_s, child.kill)
                timer.start()
                try:
                    for value in count(number * 900):
                        if page.decide(value):
                            acknowledged.append(value)
                except (OSError, HTTPException):
                    timer.join()
        stored = decided(LessonFolder(folder.path))
        assert [value for value in stored if value in set(acknowledged)] == acknowledged, "an acknowledged one is lost"
        assert len(stored) <= len(acknowledged) + number + 1
        opens(folder.path)
        opened(folder)
    assert acknowledged
