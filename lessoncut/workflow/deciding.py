"""What the teacher chooses, on the disk before anybody says so."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import UTC, datetime

from lessoncut.decisions import log
from lessoncut.decisions.records import Entry, Step, Subject, Undo
from lessoncut.decisions.subjects import about_finding
from lessoncut.errors import ChoiceError
from lessoncut.matching.findings.records import Choice, Finding
from lessoncut.store import LessonFolder
from lessoncut.times import Span
from lessoncut.workflow.opened import Opened, opened, with_decisions, write_analysis


def decide_finding(folder: LessonFolder, finding_id: str, choice_name: str) -> Opened:
    """Choose for one finding. Raises ChoiceError naming what there is to choose from."""

    def chosen(lesson: Opened) -> Entry:
        finding = _finding(lesson.found.findings, finding_id)
        choice = _choice(finding, choice_name)
        readings = {reading.id: reading.span for reading in lesson.found.match.readings}
        reading = readings.get(choice.reading_id) if choice.reading_id else None
        subject = about_finding(finding, lesson.found.script, lesson.found.match)
        return log.decide(lesson.log.entries, now_utc(), subject, choice.name, reading=reading)

    return _added(folder, chosen)


def decide(
    folder: LessonFolder, subject: Subject, choice: str, value: str | int | None = None, reading: Span | None = None
) -> Opened:
    """Choose about anything a decision can be about. Raises ChoiceError."""
    return _added(folder, lambda lesson: log.decide(lesson.log.entries, now_utc(), subject, choice, value, reading))


def undo(folder: LessonFolder) -> Opened:
    """Take the latest decision or setting back. Raises ChoiceError when there is none."""
    return _added(folder, lambda lesson: log.undo(lesson.log.entries, now_utc()))


def redo(folder: LessonFolder) -> Opened:
    """Bring back what was taken back last. Raises ChoiceError when there is nothing."""
    return _added(folder, lambda lesson: log.redo(lesson.log.entries, now_utc()))


def last_touched(lesson: Opened) -> Step:
    """What the log's last entry did, took back or brought back. The log is not empty."""
    done, undone = lesson.log.replayed
    return undone[-1] if isinstance(lesson.log.entries[-1], Undo) else done[-1]


def _added(folder: LessonFolder, make: Callable[[Opened], Entry]) -> Opened:
    with folder.deciding():
        before = opened(folder)
        folder.add_decision_line(log.line_of(make(before)))
        lesson = with_decisions(folder, before.found)
        write_analysis(lesson)
    return lesson


def _finding(findings: Sequence[Finding], finding_id: str) -> Finding:
    for finding in findings:
        if finding.id.lower() == finding_id.lower():
            return finding
    there = f"one of {findings[0].id} to {findings[-1].id}" if findings else "there are no findings"
    raise ChoiceError(f"there is no finding {finding_id!r}", hint=f"{there}; lessoncut show DIR lists them")


def _choice(finding: Finding, name: str) -> Choice:
    for choice in finding.choices:
        if choice.name == name.replace("-", "_"):
            return choice
    names = ", ".join(dict.fromkeys(choice.name for choice in finding.choices))
    raise ChoiceError(f"{name!r} is no choice for it", where=finding.id, hint=f"one of {names}")


def now_utc() -> str:
    """The time for an entry of the log, to the millisecond: ``2026-01-31T18:00:00.000Z``."""
    return datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
