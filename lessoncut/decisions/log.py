"""The decision log: one JSON object a line, only ever added to."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from lessoncut import codec
from lessoncut.decisions.records import Decision, Entry, Redo, Subject, SubjectKind, Undo
from lessoncut.errors import ChoiceError, LessonFolderError
from lessoncut.times import Span

CHOICES: dict[SubjectKind, tuple[str, ...]] = {
    "slot": ("keep", "borrow", "leave_out"),
    "edge": ("move", "reset"),
    "gap": ("set", "reset"),
    "chapter": ("title", "hide", "show", "add", "remove"),
    "caption": ("set", "reset"),
    "aside": ("keep", "leave_out"),
    "pick_up": ("add", "remove"),
}
"""The choices of every kind of subject but a finding, which brings its own."""
_VALUES: dict[tuple[str, str], type] = {
    ("edge", "move"): int,
    ("gap", "set"): int,
    ("chapter", "title"): str,
    ("chapter", "add"): str,
    ("caption", "set"): str,
}
_NEEDS_READING = (("slot", "keep"), ("slot", "borrow"))
_NEEDED: dict[SubjectKind, tuple[str, ...]] = {
    "finding": ("finding", "span"),
    "slot": ("line",),
    "edge": ("line", "span", "edge"),
    "gap": ("line",),
    "chapter": (),
    "caption": ("line", "span"),
    "aside": ("span",),
    "pick_up": ("path",),
}
_KINDS: dict[str, type[Entry]] = {"decide": Decision, "undo": Undo, "redo": Redo}
_SHOWN = ("hide", "show")
MOST_GAP_MS = 60_000


@dataclass(frozen=True)
class Log:
    """``torn`` are the numbers of lines that hold no JSON: what a crash left half written, never acknowledged."""

    entries: tuple[Entry, ...]
    torn: tuple[int, ...] = ()


def parse(text: str) -> Log:
    """The entries of a log file. Raises LessonFolderError for a whole line that is no entry."""
    entries: list[Entry] = []
    torn: list[int] = []
    for number, line in enumerate(text.split("\n"), start=1):
        if not line.strip():
            continue
        try:
            value = codec.loads(line)
        except codec.CodecError:
            torn.append(number)
            continue
        entries.append(_entry(value, number))
    return Log(tuple(entries), tuple(torn))


def _entry(value: Any, number: int) -> Entry:
    does = value.get("does") if isinstance(value, dict) else None
    try:
        if not isinstance(does, str) or does not in _KINDS:
            raise codec.CodecError("expected decide, undo or redo @ $.does")
        return codec.decode(_KINDS[does], {name: part for name, part in value.items() if name != "does"})
    except codec.CodecError as error:
        raise LessonFolderError(
            f"this decision cannot be read: {error}",
            where=f"decisions.jsonl, line {number}",
            hint="a newer lessoncut may have written it; take the line out to go on without it",
        ) from error


def line_of(entry: Entry) -> str:
    """The entry as one line of the log, without its end."""
    does = next(name for name, kind in _KINDS.items() if isinstance(entry, kind))
    return json.dumps({"does": does, **_without_none(codec.encode(entry))}, ensure_ascii=False, allow_nan=False)


def _without_none(value: dict[str, Any]) -> dict[str, Any]:
    return {
        name: _without_none(part) if isinstance(part, dict) else part
        for name, part in value.items()
        if part is not None
    }


def decide(
    entries: Sequence[Entry],
    at_utc: str,
    subject: Subject,
    choice: str,
    value: str | int | None = None,
    reading: Span | None = None,
) -> Decision:
    """The next entry. Raises ChoiceError for a choice or a value that the subject does not take."""
    decision = Decision(_next_number(entries), at_utc, subject, choice, value, reading)
    fault = fault_of(decision)
    if fault:
        raise ChoiceError(fault, where=subject.kind)
    return decision


def undo(entries: Sequence[Entry], at_utc: str) -> Undo:
    """The entry that takes back the latest decision. Raises ChoiceError when none stands."""
    if not _replayed(entries)[0]:
        raise ChoiceError("there is nothing to undo")
    return Undo(_next_number(entries), at_utc)


def redo(entries: Sequence[Entry], at_utc: str) -> Redo:
    """The entry that brings back what was undone last. Raises ChoiceError when there is nothing."""
    if not _replayed(entries)[1]:
        raise ChoiceError("there is nothing to redo")
    return Redo(_next_number(entries), at_utc)


def _next_number(entries: Sequence[Entry]) -> int:
    return entries[-1].number + 1 if entries else 1


def current(entries: Iterable[Entry]) -> tuple[Decision, ...]:
    """The decisions that hold: not undone, and the last about their subject. In the order they were made.

    Whether a chapter is shown and what it is called are two subjects.
    """
    done, _ = _replayed(entries)
    last = {(decision.subject, decision.choice in _SHOWN): decision for decision in done}
    return tuple(sorted(last.values(), key=lambda decision: decision.number))


def _replayed(entries: Iterable[Entry]) -> tuple[list[Decision], list[Decision]]:
    """What stands, and what can be redone, the next one last."""
    done: list[Decision] = []
    undone: list[Decision] = []
    for entry in entries:
        if isinstance(entry, Decision):
            done.append(entry)
            undone.clear()
        elif isinstance(entry, Undo) and done:
            undone.append(done.pop())
        elif isinstance(entry, Redo) and undone:
            done.append(undone.pop())
    return done, undone


def pick_ups(decisions: Iterable[Decision]) -> tuple[str, ...]:
    """The files of the pick-ups that stand, in the order they were added."""
    paths: dict[str, None] = {}
    for decision in decisions:
        if decision.subject.kind != "pick_up" or decision.subject.path is None:
            continue
        if decision.choice == "add":
            paths[decision.subject.path] = None
        else:
            paths.pop(decision.subject.path, None)
    return tuple(paths)


def fault_of(decision: Decision) -> str | None:
    """Why the decision cannot mean anything, whatever the analysis; None where it can."""
    subject, choice = decision.subject, decision.choice
    missing = [name for name in _NEEDED[subject.kind] if getattr(subject, name) is None]
    if missing:
        return f"the decision does not say which {missing[0]}"
    if subject.kind == "chapter" and (subject.section is None) == (subject.line is None):
        return "a chapter is named by its section or by the line it begins with"
    if subject.kind != "finding" and choice not in CHOICES[subject.kind]:
        return f"'{choice}' is not one of {', '.join(CHOICES[subject.kind])}"
    wanted = _VALUES.get((subject.kind, choice))
    if wanted is not None and type(decision.value) is not wanted:
        return f"'{choice}' needs {'a number of milliseconds' if wanted is int else 'a text'}"
    if (subject.kind, choice) in _NEEDS_READING and decision.reading is None:
        return f"'{choice}' needs a reading"
    return _fault_of_value(decision)


def _fault_of_value(decision: Decision) -> str | None:
    kind, value = decision.subject.kind, decision.value
    if kind == "gap" and isinstance(value, int) and not 0 <= value <= MOST_GAP_MS:
        return f"a gap lies between 0 and {MOST_GAP_MS // 1000} s"
    if kind == "chapter" and isinstance(value, str) and not value.strip():
        return "a chapter needs a title"
    return None
