"""``decide``, ``undo``, ``redo``, ``decisions``."""

from __future__ import annotations

from collections.abc import Set
from typing import Annotated, Any

import typer

from lessoncut import codec
from lessoncut.cli.options import AsJson, Lesson, open_folder
from lessoncut.cli.tables import table
from lessoncut.cli.terminal import answers, counted, note, plain, print_json
from lessoncut.decisions.log import SETTINGS
from lessoncut.decisions.records import Decision, Setting, Step, Subject
from lessoncut.times import clock
from lessoncut.workflow import deciding
from lessoncut.workflow.opened import Opened, opened

Finding = Annotated[str, typer.Argument(metavar="FINDING", help="The finding's id, as `show` lists it.")]
Choice = Annotated[str, typer.Argument(metavar="CHOICE", help="One of the finding's choices, as `show` lists them.")]


def decide(lesson: Lesson, finding: Finding, choice: Choice) -> None:
    """Choose what is to become of a finding."""
    _said(deciding.decide_finding(open_folder(lesson), finding, choice), "Decided")


def undo(lesson: Lesson) -> None:
    """Take the latest decision back; also what `gaps` and `export` were told last, since they keep it."""
    _said(deciding.undo(open_folder(lesson)), "Taken back")


def redo(lesson: Lesson) -> None:
    """Bring back what was taken back last."""
    _said(deciding.redo(open_folder(lesson)), "Brought back")


def decisions(lesson: Lesson, as_json: AsJson = False) -> None:
    """List all that was decided or set, what was taken back and what has no effect as well."""
    at_hand = opened(open_folder(lesson))
    entries = at_hand.log.entries
    standing: set[Step] = {*at_hand.log.current, *at_hand.log.settings.values()}
    rows = [_row(at_hand, entry, standing) for entry in entries if isinstance(entry, Decision | Setting)]
    if as_json:
        print_json({"schema": "lessoncut.decisions/1", "decisions": rows})
        return
    if rows:
        cells = ([str(row["number"]), row["at_utc"], row["about"], row["choice"], row["state"]] for row in rows)
        answers().print(table(["No", "When (UTC)", "About", "Choice", "State"], cells, right=["No"]))
    else:
        answers().print("Nothing was decided yet; the suggested choices hold.")
    for sentence in at_hand.notes:
        note(sentence)


def _said(lesson: Opened, what: str) -> None:
    step = deciding.last_touched(lesson)
    if isinstance(step, Setting):
        which = f"the choice of {SETTINGS[step.name]}"
    else:
        which = f"{step.choice} for {about(step.subject)}"
    findings = counted(len(lesson.resolved.open), "finding")
    answers().print(plain(f"{what}: {which}. {findings} not decided yet."))


def _row(lesson: Opened, step: Step, standing: Set[Step]) -> dict[str, Any]:
    return {
        "number": step.number,
        "at_utc": step.at_utc,
        "about": SETTINGS[step.name] if isinstance(step, Setting) else about(step.subject),
        "choice": "set" if isinstance(step, Setting) else step.choice,
        "value": dict(step.values) if isinstance(step, Setting) else step.value,
        "subject": None if isinstance(step, Setting) else codec.encode(step.subject),
        "state": _state(lesson, step, standing),
    }


def _state(lesson: Opened, step: Step, standing: Set[Step]) -> str:
    """``standing``: the steps that hold."""
    if step not in standing:
        return "taken back, or decided anew"
    stale = next((item.why for item in lesson.resolved.stale if item.decision == step), None)
    return f"without effect: {stale}" if stale else "holds"


def about(subject: Subject) -> str:
    """What a decision is about, in words."""
    parts = [(subject.finding or subject.kind).replace("_", " ")]
    if subject.line:
        parts.append(f"“{subject.line.text}”")
    if subject.section:
        parts.append(f"“{subject.section.text}”")
    if subject.pass_key:
        name = "model reading" if subject.pass_key.kind == "model" else "repeat pass"
        parts.append(f"in the {name}" + (f" {subject.pass_key.nth}" if subject.pass_key.nth > 1 else ""))
    if subject.span:
        parts.append(f"at {clock(subject.span.start_ms)}")
    if subject.path:
        parts.append(subject.path)
    return " ".join(parts)
