"""What a command costs as a whole process, its own children included."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from lessoncut.cores import CHOICE as CORES

ROOT = Path(__file__).parents[2]


@dataclass(frozen=True)
class Cost:
    """``cpu_s`` counts the process and the children it waited for; ``peak_mb`` is the largest single one of them."""

    cpu_s: float
    wall_s: float
    peak_mb: float


def cost_of(arguments: Sequence[str | Path], *, into: Path | None = None, cores: int | None = None) -> Cost:
    """Run Python with these arguments, its output going to ``into``, on as many cores as told.

    Raises CalledProcessError when it fails.
    """
    env = {**os.environ, "PYTHONPATH": str(ROOT), **({} if cores is None else {CORES: str(cores)})}
    command = [sys.executable, *map(str, arguments)]
    with (into or Path(os.devnull)).open("wb") as out:
        began_s = time.monotonic()
        process = subprocess.Popen(command, stdout=out, stderr=subprocess.PIPE, env=env)
        assert process.stderr
        said = process.stderr.read()
        _, status, used = os.wait4(process.pid, 0)
        process.returncode = os.waitstatus_to_exitcode(status)
        process.stderr.close()
    if process.returncode:
        raise subprocess.CalledProcessError(process.returncode, command, stderr=said)
    return Cost(used.ru_utime + used.ru_stime, time.monotonic() - began_s, used.ru_maxrss / 1024)
