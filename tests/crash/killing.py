"""Work in a process of its own that is killed (SIGKILL) at any moment, and what it had said by then.

The process is forked, so that it costs milliseconds and the moment falls into the work, not into the start of Python.
"""

from __future__ import annotations

import os
import signal
import threading
import time
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass

Say = Callable[[str], None]
"""Acknowledges something in one line: what was said is what a user has seen."""
Work = Callable[[Say], object]

BEGUN = "begun"
TOO_LONG_S = 120.0


@dataclass
class Running:
    """A forked process at work, and the pipe that it speaks into. ``status`` is there once it has been waited for."""

    pid: int
    heard: int
    status: int | None = None

    def kill(self) -> None:
        os.kill(self.pid, signal.SIGKILL)

    def said(self) -> list[str]:
        """What it said until it was gone; fails where the work failed."""
        content = b""
        while chunk := os.read(self.heard, 1 << 16):
            content += chunk
        _, self.status = os.waitpid(self.pid, 0)
        lines = content.decode().split("\n")[:-1]
        assert not [line for line in lines if line.startswith("failed: ")], lines
        return lines


@contextmanager
def running(work: Work) -> Iterator[Running]:
    """The work has begun; when the block ends, it is gone."""
    heard, said = os.pipe()
    pid = os.fork()
    if not pid:
        os.close(heard)
        _work(work, said)
    os.close(said)
    child = Running(pid, heard)
    try:
        assert _line(heard) == BEGUN
        yield child
    finally:
        if child.status is None:
            child.kill()
            os.waitpid(pid, 0)
        os.close(heard)


def killed(work: Work, after_s: float) -> list[str]:
    """What the work had acknowledged when it was killed, that long after it had begun. Fails if it ended by itself."""
    with running(work) as child:
        timer = threading.Timer(after_s, child.kill)
        timer.start()
        said = child.said()
        timer.cancel()
        timer.join()
    assert child.status is not None
    assert os.WIFSIGNALED(child.status), f"it ended by itself: {said}"
    return said


def finished(work: Work) -> float:
    """How long it took until it ended by itself, in seconds."""
    began_s = time.monotonic()
    with running(work) as child:
        timer = threading.Timer(TOO_LONG_S, child.kill)
        timer.start()
        said = child.said()
        timer.cancel()
        timer.join()
    assert child.status == 0, f"it hung, and had said: {said}"
    return time.monotonic() - began_s


def _work(work: Work, said: int) -> None:
    """In the child: never comes back."""

    def say(text: str) -> None:
        os.write(said, f"{text}\n".encode())

    try:
        say(BEGUN)
        work(say)
    except BaseException:  # nothing may go on as a second copy of the test run
        say("failed: " + traceback.format_exc().replace("\n", " | "))
    finally:
        os._exit(0)


def _line(heard: int) -> str:
    line = b""
    while not line.endswith(b"\n") and (byte := os.read(heard, 1)):
        line += byte
    return line.decode().strip()
