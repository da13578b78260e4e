"""The whole of analyze against the bare recogniser, on the same take with the same model."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from lessoncut.hearing.model import find_model
from tests.benchmarks.measuring import cost_of
from tests.benchmarks.takes import made_take

MINUTES = 10
MOST = 0.9


def measure(folder: Path) -> dict[str, Any]:
    take = made_take(folder, MINUTES)
    model = find_model(None, "en")
    analyze: list[str | Path] = ["-m", "lessoncut", "analyze", take.take, take.script, "--lesson", folder / "lesson"]
    ours = cost_of([*analyze, "--model", model.folder])
    bare = cost_of(["-m", "tests.benchmarks.bare", take.take, model.folder])
    return {
        "model": model.name,
        "analyze_cpu_s": round(ours.cpu_s, 1),
        "bare_cpu_s": round(bare.cpu_s, 1),
        "analyze_peak_mb": round(ours.peak_mb),
        "bare_peak_mb": round(bare.peak_mb),
    }


def page(found: dict[str, Any]) -> str:
    ratio = found["analyze_cpu_s"] / found["bare_cpu_s"]
    return f"""\
## analyze against the bare recogniser

A take of {MINUTES} minutes, model {found["model"]}: all of `lessoncut analyze`, from the file to the findings, against
nothing but faster-whisper with its default settings. CPU seconds of the whole processes.

| | CPU s | peak MB |
|---|---:|---:|
| `lessoncut analyze` | {found["analyze_cpu_s"]} | {found["analyze_peak_mb"]} |
| faster-whisper alone | {found["bare_cpu_s"]} | {found["bare_peak_mb"]} |

Ratio {ratio:.2f} (no more than {MOST} is wanted).
"""
