"""Twenty lessons with one worker and with two, each on one core."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

from tests.benchmarks.measuring import ROOT, cost_of

LESSONS = 20
LEAST = 1.7
FERRY = ROOT / "sample_media" / "ferry"


def measure(folder: Path) -> dict[str, Any]:
    takes = folder / "lessons"
    takes.mkdir()
    for number in range(LESSONS):
        shutil.copy(FERRY / "ferry.mp4", takes / f"{number:02d}.mp4")
        shutil.copy(FERRY / "script.md", takes / f"{number:02d}.md")
    walls = {}
    for workers in (1, 2):
        to = folder / f"made by {workers}"
        batch: list[str | Path] = ["-m", "lessoncut", "batch", takes, "--lessons", to, "--workers", str(workers)]
        walls[workers] = cost_of(batch, cores=workers).wall_s
    return {"lessons": LESSONS, "one_s": round(walls[1], 1), "two_s": round(walls[2], 1)}


def page(found: dict[str, Any]) -> str:
    return f"""\
## Many lessons at once

`lessoncut batch` on {found["lessons"]} copies of the sample lesson of three minutes, each worker on one core; the start
of the workers is counted. The ratio is of two runs one after the other on the same machine.

| workers | seconds | times one worker's speed |
|---:|---:|---:|
| 1 | {found["one_s"]} | 1 |
| 2 | {found["two_s"]} | {found["one_s"] / found["two_s"]:.2f} |

At least {LEAST} is wanted.
"""
