"""``decide``, ``undo``, ``redo``, ``decisions``."""

from __future__ import annotations

from typing import Annotated, Any

import typer

from lessoncut import codec
from lessoncut.cli.options import AsJson, Lesson, open_folder
from lessoncut.cli.tables import table
from lessoncut.cli.terminal import answers, note, plain, print_json
from lessoncut.decisions.log import current
from lessoncut.decisions.records import Decision, Subject
from lessoncut.times import clock
from lessoncut.workflow import deciding
from lessoncut.workflow.opened import Opened, opened

Finding = Annotated[str, typer.Argument(metavar="FINDING", help="The finding's id, as `show` lists it.")]
Choice = Annotated[str, typer.Argument(metavar="CHOICE", help="One of the finding's choices, as `show` lists them.")]


def decide(lesson: Lesson, finding: Finding, choice: Choice) -> None:
    """Choose what is to become of a finding."""
    _said(deciding.decide_finding(open_folder(lesson), finding, choice), "Decided")


def undo(lesson: Lesson) -> None:
    """Take the latest decision back."""
    _said(deciding.undo(open_folder(lesson)), "Taken back")


def redo(lesson: Lesson) -> None:
    """Bring back the decision that was taken back last."""
    _said(deciding.redo(open_folder(lesson)), "Brought back")


def decisions(lesson: Lesson, as_json: AsJson = False) -> None:
    """List every decision, those taken back and those without effect as well."""
    at_hand = opened(open_folder(lesson))
    rows = [_row(at_hand, entry) for entry in at_hand.log.entries if isinstance(entry, Decision)]
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
    decision = deciding.last_touched(lesson)
    assert decision is not None, "the log has just been added to"
    open_ones = len(lesson.resolved.open)
    findings = f"{open_ones} finding{'' if open_ones == 1 else 's'}"
    answers().print(plain(f"{what}: {decision.choice} for {about(decision.subject)}. {findings} not decided yet."))


def _row(lesson: Opened, decision: Decision) -> dict[str, Any]:
    return {
        "number": decision.number,
        "at_utc": decision.at_utc,
        "about": about(decision.subject),
        "choice": decision.choice,
        "value": decision.value,
        "subject": codec.encode(decision.subject),
        "state": _state(lesson, decision),
    }


def _state(lesson: Opened, decision: Decision) -> str:
    if decision not in current(lesson.log.entries):
        return "taken back, or decided anew"
    stale = next((item.why for item in lesson.resolved.stale if item.decision == decision), None)
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
