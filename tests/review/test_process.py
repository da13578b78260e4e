"""The review as a process: the second finds the first, and no death of it loses what was acknowledged."""

from __future__ import annotations

import json
import signal
import stat
import subprocess
import threading
from http.client import HTTPException
from pathlib import Path

from lessoncut.decisions.log import parse
from lessoncut.workflow.lesson import pacing_of
from lessoncut.workflow.opened import opened
from lessoncut.workflow.studying import choices_of, targets_of
from tests.review.lessons import reviewed
from tests.review.serving import command, serving


def test_the_second_review_finds_the_first(tmp_path: Path) -> None:
    folder = reviewed(tmp_path / "lesson")
    first = serving(folder.path)
    try:
        second = subprocess.run(command(folder.path), capture_output=True, text=True, timeout=60, check=True)
        assert second.stdout.strip() == first.address
        place = folder.path / "work" / "review.json"
        assert stat.S_IMODE(place.stat().st_mode) == 0o600, "the address lets its reader in"
    finally:
        assert first.end() in (0, 130)
    assert not place.exists()


def test_a_killed_review_does_not_stand_in_the_way(tmp_path: Path) -> None:
    folder = reviewed(tmp_path / "lesson")
    first = serving(folder.path)
    first.end(signal.SIGKILL)
    second = serving(folder.path)
    try:
        assert second.address != first.address
    finally:
        second.end()


def test_undo_goes_on_behind_the_death_of_the_server(tmp_path: Path) -> None:
    folder = reviewed(tmp_path / "lesson")
    done = (
        ("/pacing", {"level": "A1", "keep": True}),
        ("/decisions", {"about": {"kind": "gap", "line": "L002"}, "choice": "set", "value": 4000}),
        ("/targets", {"sounds": "v/w"}),
        ("/choices", {"ipa": True}),
    )

    def stands() -> tuple[str, list[int], str, bool]:
        gaps = [gap.gap_ms for gap in opened(folder).effects.gaps]
        return pacing_of(folder).level, gaps, targets_of(folder).sounds, choices_of(folder).ipa

    states = [stands()]
    first = serving(folder.path)
    for path, body in done:
        assert first.post(path, json.dumps(body)) == 200
        states.append(stands())
    assert states[-1] == ("A1", [4000], "v/w", True)
    first.end(signal.SIGKILL)
    second = serving(folder.path)
    try:
        for state in states[-2::-1]:
            assert second.post("/undo", "{}") == 200
            assert stands() == state
        assert second.post("/undo", "{}") == 400
        for state in states[1:]:
            assert second.post("/redo", "{}") == 200
            assert stands() == state
    finally:
        second.end()


def test_kill_9_during_a_hundred_decisions_loses_none_that_was_acknowledged(tmp_path: Path) -> None:
    folder = reviewed(tmp_path / "lesson")
    server = serving(folder.path)
    acknowledged: list[int] = []
    enough = threading.Event()

    def decide() -> None:
        for number in range(100):
            body = {"about": {"kind": "gap", "line": "L002"}, "choice": "set", "value": 2000 + number}
            try:
                if server.post("/decisions", json.dumps(body)) == 200:
                    acknowledged.append(2000 + number)
            except (OSError, HTTPException):
                return
            if len(acknowledged) >= 30:
                enough.set()

    burst = threading.Thread(target=decide)
    burst.start()
    assert enough.wait(60)
    server.end(signal.SIGKILL)
    burst.join()
    assert 30 <= len(acknowledged) < 100, "it was killed in the middle"
    stored = [entry.value for entry in parse(folder.decisions_text()).entries]  # type: ignore[union-attr]
    assert stored[: len(acknowledged)] == acknowledged
    assert len(stored) <= len(acknowledged) + 1
