"""What every output of the packaged sample costs.

    python -m tests.benchmarks.exporting [--lesson DIR]

Analyses the sample lesson (or takes the analysed lesson in DIR), exports all of it, and prints CPU seconds of this
process and of its children for every output that takes more than a tenth of a second.
"""

from __future__ import annotations

import argparse
import os
import tempfile
import time
from pathlib import Path

from lessoncut.outputs import all_outputs
from lessoncut.store import LessonFolder
from lessoncut.workflow.analyze import Request, analyze
from lessoncut.workflow.demo import copy_sample
from lessoncut.workflow.export import export
from lessoncut.workflow.lesson import paced, pacing_of
from lessoncut.workflow.opened import opened
from lessoncut.workflow.studying import Targets, studied

WORTH_TELLING_S = 0.1


def cpu_s() -> float:
    return sum(os.times()[:4])


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--lesson", type=Path)
    asked = options.parse_args()
    with tempfile.TemporaryDirectory() as room:
        lesson = asked.lesson
        if lesson is None:
            sample = copy_sample(Path(room))
            lesson = sample.lesson
            analyze(Request((sample.take,), sample.script), lesson)
        measure(LessonFolder(lesson))


def measure(folder: LessonFolder) -> None:
    began_s, wall_s = cpu_s(), time.monotonic()
    at_hand = opened(folder)
    sheet = paced(at_hand, pacing_of(folder))
    study = studied(at_hand, Targets("v/w"))
    print(f"{'opening and measuring':24}{cpu_s() - began_s:7.1f}")
    for kind in all_outputs():
        before_s = cpu_s()
        export(sheet, study, [kind])
        if cpu_s() - before_s > WORTH_TELLING_S:
            print(f"{kind.name:24}{cpu_s() - before_s:7.1f}")
    between_s = cpu_s()
    export(sheet, study, all_outputs())
    all_s, take_s = cpu_s() - between_s, at_hand.found.take.duration_ms / 1000
    print(f"{'all in one export':24}{all_s:7.1f}   {all_s / take_s:.2f} of the take's {take_s:.0f} s")
    print(f"on the wall, all of this: {time.monotonic() - wall_s:.0f} s")


if __name__ == "__main__":
    main()
