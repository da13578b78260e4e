"""How soon a preview is there, as a whole command, from the start of Python to the file."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

from lessoncut.workflow.demo import copy_sample
from tests.benchmarks.copying import made_take
from tests.benchmarks.measuring import Cost, cost_of
from tests.workflow.lessons import playable_lesson

MOST_S = 2.0
MINUTES = 1
"""Longer than the lesson that is told by hand; it is entered by its index, however long it is."""
TIMES = 3
CUTS = (1, 3, 5)
SORTS = {"H.264": "libx264", "HEVC": "libx265"}
GROUPS = (60, 250)


def measure(folder: Path) -> dict[str, Any]:
    sample = copy_sample(folder)
    cost_of(["-m", "lessoncut", "analyze", sample.take, sample.script, "--lesson", sample.lesson])
    found = [_row("the packaged sample, 640x360", sample.lesson)]
    for name, codec in SORTS.items():
        for group in GROUPS:
            made = folder / f"{codec} {group}"
            made.mkdir()
            take = made_take(made, MINUTES, group, noise=10, codec=codec)
            rate = take.stat().st_size * 8 / (MINUTES * 60e6)
            lesson = playable_lesson(made / "lesson", take)
            found.append(_row(f"1920x1080, {name}, {rate:.0f} Mbit/s, groups of {group}", lesson.path))
            shutil.rmtree(made)
    return {"takes": found}


def _row(take: str, lesson: Path) -> dict[str, Any]:
    """The dearest of the cuts, each the least of a few: what else the machine does only adds to it."""
    costs = [[_cost(lesson, cut) for _ in range(TIMES)] for cut in CUTS]
    wall_s, cpu_s = (max(min(own) for own in each) for each in _both(costs))
    return {"take": take, "wall_s": round(wall_s, 2), "cpu_s": round(cpu_s, 2)}


def _both(costs: list[list[Cost]]) -> tuple[list[list[float]], list[list[float]]]:
    return [[one.wall_s for one in own] for own in costs], [[one.cpu_s for one in own] for own in costs]


def _cost(lesson: Path, cut: int) -> Cost:
    return cost_of(["-m", "lessoncut", "preview", lesson, "--cut", str(cut)])


def page(found: dict[str, Any]) -> str:
    rows = "\n".join(f"| {one['take']} | {one['wall_s']:.2f} | {one['cpu_s']:.2f} |" for one in found["takes"])
    cuts = ", ".join(map(str, CUTS[:-1]))
    return f"""\
## A look at one place

`lessoncut preview DIR --cut N`, the whole command: the dearest of cut {cuts} and {CUTS[-1]}, each the best of {TIMES}.
Where the key frame before is so far that too much would be decoded in vain, a part of the preview is a still.

| take | seconds | CPU s |
|---|---:|---:|
{rows}

No more than {MOST_S:g} seconds are wanted.
"""
