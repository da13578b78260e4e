"""The decision log: one JSON object a line, only ever added to."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from lessoncut import codec
from lessoncut.decisions.records import Decision, Entry, Plain, Redo, Setting, Step, Subject, SubjectKind, Undo
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
SETTINGS = {
    "pacing": "the gaps",
    "targets": "the target sounds",
    "teaching": "what the handout shows",
    "cover": "the practice tracks' picture",
}
"""What can be set for the whole lesson, and that in words."""
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
_KINDS: dict[str, type[Entry]] = {"decide": Decision, "set": Setting, "undo": Undo, "redo": Redo}
_SHOWN = ("hide", "show")
MOST_GAP_MS = 60_000


@dataclass(frozen=True)
class Log:
    """``torn`` are the numbers of lines that hold no JSON: what a crash left half written, never acknowledged.

    What follows from the entries is worked out once, when it is first asked for.
    """

    entries: tuple[Entry, ...]
    torn: tuple[int, ...] = ()

    @cached_property
    def replayed(self) -> tuple[tuple[Step, ...], tuple[Step, ...]]:
        """What was done and stands, and what can be redone; in both, what undo or redo would take is the last."""
        return replayed(self.entries)

    @cached_property
    def current(self) -> tuple[Decision, ...]:
        """The decisions that hold: not undone, and the last about their subject. In the order they were made.

        Whether a chapter is shown and what it is called are two subjects.
        """
        done, _ = self.replayed
        last = {(step.subject, step.choice in _SHOWN): step for step in done if isinstance(step, Decision)}
        return tuple(sorted(last.values(), key=lambda decision: decision.number))

    @cached_property
    def settings(self) -> Mapping[str, Setting]:
        """What holds for the whole lesson, by name: not undone, and the last of its name."""
        done, _ = self.replayed
        return {step.name: step for step in done if isinstance(step, Setting)}


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
            raise codec.CodecError(f"expected {', '.join(_KINDS)} @ $.does")
        parts = {name: part for name, part in value.items() if name != "does"}
        return _setting(parts) if does == "set" else codec.decode(_KINDS[does], parts)
    except codec.CodecError as error:
        raise LessonFolderError(
            f"this decision cannot be read: {error}",
            where=f"decisions.jsonl, line {number}",
            hint="a newer lessoncut may have written it; take the line out to go on without it",
        ) from error


def _setting(parts: dict[str, Any]) -> Setting:
    """In a line of the log, values stand under their names."""
    if parts.get("name") not in SETTINGS:
        raise codec.CodecError(f"expected {', '.join(SETTINGS)} @ $.name")
    if not isinstance(parts.get("values"), dict):
        raise codec.CodecError("expected an object @ $.values")
    return codec.decode(Setting, {**parts, "values": [list(pair) for pair in parts["values"].items()]})


def line_of(entry: Entry) -> str:
    """The entry as one line of the log, without its end."""
    does = next(name for name, kind in _KINDS.items() if isinstance(entry, kind))
    parts = _without_none(codec.encode(entry))
    if isinstance(entry, Setting):
        parts["values"] = dict(entry.values)
    return json.dumps({"does": does, **parts}, ensure_ascii=False, allow_nan=False)


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


def set_to(entries: Sequence[Entry], at_utc: str, name: str, values: Mapping[str, Plain]) -> Setting:
    """The next entry, for one of ``SETTINGS``."""
    return Setting(_next_number(entries), at_utc, name, tuple(values.items()))


def undo(entries: Sequence[Entry], at_utc: str) -> Undo:
    """The entry that takes back the latest step. Raises ChoiceError when none stands."""
    if not replayed(entries)[0]:
        raise ChoiceError("there is nothing to undo")
    return Undo(_next_number(entries), at_utc)


def redo(entries: Sequence[Entry], at_utc: str) -> Redo:
    """The entry that brings back what was undone last. Raises ChoiceError when there is nothing."""
    if not replayed(entries)[1]:
        raise ChoiceError("there is nothing to redo")
    return Redo(_next_number(entries), at_utc)


def _next_number(entries: Sequence[Entry]) -> int:
    return entries[-1].number + 1 if entries else 1


def replayed(entries: Iterable[Entry]) -> tuple[tuple[Step, ...], tuple[Step, ...]]:
    """What was done and stands, and what can be redone; in both, what undo or redo would take is the last."""
    done: list[Step] = []
    undone: list[Step] = []
    for entry in entries:
        if isinstance(entry, Decision | Setting):
            done.append(entry)
            undone.clear()
        elif isinstance(entry, Undo) and done:
            undone.append(done.pop())
        elif isinstance(entry, Redo) and undone:
            done.append(undone.pop())
    return tuple(done), tuple(undone)


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
