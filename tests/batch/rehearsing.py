"""Stands in for the work on a lesson, on real workers: each start is written down, and some lessons go wrong."""

from __future__ import annotations

import os
import signal
import time
from pathlib import Path

from lessoncut.workflow.batch import Job, Outcome
from lessoncut.workflow.records import Stages

MOST_S = 300.0
"""Where every core is busy with something else, a process may take a minute to start."""
TELL_EVERY_S = 0.5


def rehearse(job: Job, stages: Stages) -> Outcome:
    """``stuck`` hangs until its process is killed, the first time; ``deadly`` kills its process every time; ``faulty``
    raises; ``pair-...`` waits until another of that name is worked on in another process; ``talking`` tells for a
    while how far it is."""
    first = job.name not in {name for name, _ in starts(job.lesson.parent)}
    with log_in(job.lesson.parent).open("a", encoding="utf-8") as log:
        log.write(f"{job.name} {os.getpid()}\n")
    stages("Rehearsing")(0.5)
    if job.name == "stuck" and first:
        time.sleep(MOST_S)
        raise TimeoutError("nobody killed this worker")
    if job.name == "deadly":
        os.kill(os.getpid(), signal.SIGKILL)
    if job.name == "talking":
        for done in range(1, 7):
            time.sleep(TELL_EVERY_S)
            stages("Talking")(done / 7)
    if job.name == "faulty":
        raise ZeroDivisionError("a fault of ours")
    if job.name.startswith("pair-"):
        _wait_for_the_other(job.lesson.parent)
    return Outcome(job.name, job.lesson, "done", (os.environ["LESSONCUT_CORES"],))


def log_in(folder: Path) -> Path:
    return folder / "starts.txt"


def starts(folder: Path) -> list[tuple[str, int]]:
    """The lessons in the order in which work on them began, and the processes."""
    log = log_in(folder)
    lines = log.read_text(encoding="utf-8").splitlines() if log.exists() else []
    return [(name, int(pid)) for name, pid in (line.split() for line in lines)]


def _wait_for_the_other(folder: Path) -> None:
    until_s = time.monotonic() + MOST_S
    while len({pid for name, pid in starts(folder) if name.startswith("pair-")}) < 2:
        if time.monotonic() > until_s:
            raise TimeoutError("no other worker came")
        time.sleep(0.01)
