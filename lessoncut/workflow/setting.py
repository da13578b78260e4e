"""What the teacher sets for the whole lesson: lines in the decision log, taken back by undo like any decision."""

from __future__ import annotations

from typing import TypeVar

from lessoncut import codec
from lessoncut.decisions.log import SETTINGS, Log, line_of, parse, set_to
from lessoncut.errors import LessonFolderError
from lessoncut.store import LessonFolder, Slot
from lessoncut.workflow.deciding import now_utc

Record = TypeVar("Record")


def setting_of(folder: LessonFolder, slot: Slot[Record], log: Log | None = None) -> Record | None:
    """What holds; None where nothing was ever set. ``log`` is the folder's log where it is at hand.

    What nothing in the log says is looked for in a file of its own, where it was kept before it stood in the log.
    Raises LessonFolderError for what cannot be read.
    """
    entry = (log or parse(folder.decisions_text())).settings.get(slot.name)
    if entry is None:
        return folder.read(slot)
    try:
        return codec.decode(slot.kind, dict(entry.values))
    except codec.CodecError as error:
        raise LessonFolderError(
            f"{SETTINGS[slot.name]} cannot be read: {error}",
            where=f"decisions.jsonl, number {entry.number}",
            hint="lessoncut undo takes it back; or take the line out",
        ) from error


def set_for_lesson(folder: LessonFolder, slot: Slot[Record], record: Record) -> None:
    """When this returns, it is on the disk. Where it holds already, nothing is added. Raises LessonFolderError."""
    with folder.deciding():
        log = parse(folder.decisions_text())
        if setting_of(folder, slot, log) == record:
            return
        folder.add_decision_line(line_of(set_to(log.entries, now_utc(), slot.name, codec.encode(record))))
