"""A review in a process of its own, as the teacher runs it."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from contextlib import closing
from dataclasses import dataclass
from http.client import HTTPConnection
from pathlib import Path
from urllib.parse import urlsplit

START_S = 60


@dataclass
class Serving:
    """A running review, and a way to talk to it past any browser."""

    process: subprocess.Popen[str]
    address: str
    cookie: str

    @property
    def origin(self) -> str:
        return self.address.partition("/?")[0]

    def post(self, path: str, body: str) -> int:
        """The answer's status. Raises ConnectionError when the server is gone."""
        headers = {"cookie": self.cookie, "origin": self.origin, "content-type": "application/json"}
        with closing(HTTPConnection(urlsplit(self.address).netloc, timeout=30)) as connection:
            connection.request("POST", path, body, headers)
            answer = connection.getresponse()
            answer.read()
            return answer.status

    def end(self, how: signal.Signals = signal.SIGINT) -> int:
        self.process.send_signal(how)
        self.process.communicate(timeout=30)
        return self.process.returncode


def command(lesson: Path) -> list[str]:
    return [sys.executable, "-m", "lessoncut", "review", str(lesson), "--no-browser"]


def serving(lesson: Path) -> Serving:
    """Start it and let this test in."""
    process = subprocess.Popen(
        command(lesson), stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env={**os.environ, "COLUMNS": "300"}
    )
    assert process.stdout
    address = process.stdout.readline().strip()
    assert address.startswith("http://127.0.0.1:"), process.communicate()
    until = time.monotonic() + START_S
    while True:
        try:
            with closing(HTTPConnection(urlsplit(address).netloc, timeout=30)) as connection:
                connection.request("GET", "/" + address.rpartition("/")[2])
                cookie = (connection.getresponse().getheader("set-cookie") or "").partition(";")[0]
            return Serving(process, address, cookie)
        except ConnectionError:
            assert time.monotonic() < until
            time.sleep(0.05)
