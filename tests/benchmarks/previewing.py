"""What a preview costs as a whole command, from the start of Python to the file."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from lessoncut.workflow.demo import copy_sample
from tests.benchmarks.copying import made_take
from tests.benchmarks.measuring import cost_of
from tests.workflow.lessons import playable_lesson

MOST_S = 2.0
MINUTES = 10
TIMES = 3
SORTS = {"H.264": "libx264", "HEVC": "libx265"}


def measure(folder: Path) -> dict[str, Any]:
    sample = copy_sample(folder)
    cost_of(["-m", "lessoncut", "analyze", sample.take, sample.script, "--lesson", sample.lesson])
    found = [{"take": "the packaged sample, 640x360", "cpu_s": _cpu_s(sample.lesson)}]
    for name, codec in SORTS.items():
        made = folder / codec
        made.mkdir()
        take = made_take(made, MINUTES, group=60, noise=10, codec=codec)
        lesson = playable_lesson(made / "lesson", take)
        found.append({"take": f"{MINUTES} min of 1920x1080, {name}", "cpu_s": _cpu_s(lesson.path)})
    return {"takes": found}


def _cpu_s(lesson: Path) -> float:
    """The least of a few: what else the machine does only adds to it."""
    asked: list[str | Path] = ["-m", "lessoncut", "preview", lesson, "--cut", "3"]
    return round(min(cost_of(asked).cpu_s for _ in range(TIMES)), 2)


def page(found: dict[str, Any]) -> str:
    rows = "\n".join(f"| {one['take']} | {one['cpu_s']:.2f} |" for one in found["takes"])
    return f"""\
## A look at one place

`lessoncut preview DIR --cut 3`, the whole command. A machine with nothing else to do needs no more time for it than
this, and less where its cores share the decoding.

| take | CPU s |
|---|---:|
{rows}

No more than {MOST_S:g} s are wanted.
"""
