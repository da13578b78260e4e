"""One lesson of many: analysed, and exported where that is asked for; what holds from before is not done again."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from lessoncut.errors import LessoncutError
from lessoncut.progress import Progress
from lessoncut.store import Slot, key_of, source_key
from lessoncut.workflow.analyze import Request, analyze
from lessoncut.workflow.export import export, wanted
from lessoncut.workflow.lesson import paced, pacing_of
from lessoncut.workflow.opened import Opened
from lessoncut.workflow.pairs import Pairs
from lessoncut.workflow.records import HearingSettings, Stages
from lessoncut.workflow.sound import content
from lessoncut.workflow.studying import choices_of, study_for, targets_of

State = Literal["done", "as before", "failed"]

EXPORT_STAGE = ("outputs", "render", "teaching", "timeline", "lesson", "decisions", "analysis", "workflow")
"""Whose source makes the exported files: when that changes, they are made again."""
FAULT = 1
"""The exit code of a fault of lessoncut's own."""


@dataclass(frozen=True)
class Job:
    """One lesson to be made in ``lesson``. ``outputs`` are names of outputs; none: it is not exported."""

    name: str
    takes: tuple[Path, ...]
    script: Path
    lesson: Path
    settings: HearingSettings = field(default_factory=HearingSettings)
    outputs: tuple[str, ...] = ()


@dataclass(frozen=True)
class Outcome:
    """What became of one lesson. ``says`` are sentences; ``open_findings`` wait for the teacher.

    ``code`` is the exit code that the lesson alone would have ended with.
    """

    name: str
    lesson: Path
    state: State
    says: tuple[str, ...]
    code: int = 0
    take_s: float = 0.0
    took_s: float = 0.0
    lines: int = 0
    findings: int = 0
    open_findings: int = 0
    exported: tuple[str, ...] = ()


@dataclass(frozen=True)
class Exports:
    """What one export wrote: the names of the outputs, and of their files."""

    names: tuple[str, ...]
    files: tuple[str, ...]


EXPORTS = Slot("exports", Exports)


def jobs_of(pairs: Pairs, lessons: Path, settings: HearingSettings, outputs: Sequence[str]) -> tuple[Job, ...]:
    """A job for every pair, each with a folder of its own under ``lessons``. Raises ChoiceError for an output's name.

    Paths are absolute, since workers stand elsewhere.
    """
    names = tuple(kind.name for kind in wanted(outputs)) if outputs else ()
    return tuple(
        Job(
            pair.name,
            tuple(path.absolute() for path in pair.takes),
            pair.script.absolute(),
            (lessons / pair.name).absolute(),
            settings,
            names,
        )
        for pair in pairs.pairs
    )


def do_lesson(job: Job, stages: Stages) -> Outcome:
    """Analyse and export one lesson. What goes wrong with it is told in the outcome; a fault of ours is raised."""
    began_s = time.monotonic()
    begun: list[str] = []

    def noted(stage: str) -> Progress:
        begun.append(stage)
        return stages(stage)

    try:
        lesson = analyze(Request(job.takes, job.script, job.settings), job.lesson, noted)
        files, remarks = _exported(lesson, job.outputs, noted) if job.outputs else ((), ())
    except LessoncutError as error:
        return Outcome(job.name, job.lesson, "failed", (str(error),), error.exit_code, took_s=_since(began_s))
    return Outcome(
        job.name,
        job.lesson,
        "done" if begun else "as before",
        (*lesson.notes, *remarks),
        take_s=lesson.found.take.duration_ms / 1000,
        took_s=_since(began_s),
        lines=len(lesson.found.script.lines),
        findings=len(lesson.resolved.settled),
        open_findings=len(lesson.resolved.open),
        exported=files,
    )


def _since(began_s: float) -> float:
    return round(time.monotonic() - began_s, 1)


def _exported(lesson: Opened, names: Sequence[str], stages: Stages) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The names of the outputs that are there afterwards, and sentences; nothing is written where all is as before."""
    folder, found, log = lesson.folder, lesson.found, lesson.log
    pacing, targets, choices = pacing_of(folder, log), targets_of(folder, log), choices_of(folder, log)
    made_from = (content(found.take), found.script, found.match, found.findings, folder.decisions_text())
    key = key_of(*made_from, pacing, targets, choices, names, source_key(*EXPORT_STAGE))
    before = folder.read(EXPORTS, key)
    if before and all(map(folder.exported, before.files)):
        return before.names, ()
    kinds = wanted(names)
    study = study_for(kinds, lesson, targets, stages)
    done = export(paced(lesson, pacing), study, kinds, stages=stages, choices=choices)
    written = [one for one in done if one.path]
    made = Exports(tuple(one.output.name for one in written), tuple(one.path.name for one in written if one.path))
    folder.write(EXPORTS, key, made)
    left_out = [f"{one.output.name}: {one.why_not}" for one in done if one.why_not]
    return made.names, (*(f"{one.output.name}: {said}" for one in written for said in one.remarks), *left_out)
