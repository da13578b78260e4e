"""A lesson folder opened: what was found, what was decided, and what follows from both."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from lessoncut.analysis import analysis
from lessoncut.decisions.effects import effects
from lessoncut.decisions.log import Log, parse, pick_ups
from lessoncut.decisions.records import Effects, Resolved
from lessoncut.decisions.resolve import resolve
from lessoncut.errors import LessonFolderError, TakeError
from lessoncut.store import LessonFolder
from lessoncut.workflow.records import FOUND, Found, KnownTake


@dataclass(frozen=True)
class Opened:
    """One lesson folder at one moment."""

    folder: LessonFolder
    found: Found
    log: Log
    resolved: Resolved
    effects: Effects

    @property
    def notes(self) -> tuple[str, ...]:
        """What the teacher should know before she relies on this: sentences."""
        torn = (
            f"Line {number} of decisions.jsonl is only half there, as after a crash; what it said was never confirmed."
            for number in self.log.torn
        )
        stale = (
            f"Decision {item.decision.number} ({item.decision.choice}) is not applied: {item.why}."
            for item in self.resolved.stale
        )
        return (*self.found.remarks, *changes_since(self.found.known), *torn, *stale)


def opened(folder: LessonFolder) -> Opened:
    """Raises LessonFolderError when nothing was analysed here yet, or another version did it."""
    found = folder.read(FOUND)
    if found is None:
        raise LessonFolderError(
            "this lesson has no analysis that this lessoncut can read",
            where=str(folder.path),
            hint="lessoncut analyze TAKE SCRIPT --lesson DIR (what was heard before is used again)",
        )
    return with_decisions(folder, found)


def with_decisions(folder: LessonFolder, found: Found) -> Opened:
    """Raises LessonFolderError for a decisions file that cannot be read."""
    log = parse(folder.decisions_text())
    resolved = resolve(log.current, found.script, found.match, found.findings)
    return Opened(folder, found, log, resolved, effects(resolved, found.script, found.match, found.pick_ups))


def added_to(folder: LessonFolder) -> tuple[Path, ...]:
    """The pick-ups that stand decided, in their order, whether they were heard yet or not.

    Raises LessonFolderError for one that does not lie in the folder.
    """
    outside = "a decision adds a pick-up from outside the lesson folder"
    hint = "take it back with lessoncut undo, and add the recording on the review page"
    kept = pick_ups(parse(folder.decisions_text()).current)
    return tuple(folder.own_file(path, outside, hint) for path in kept)


def write_analysis(lesson: Opened) -> None:
    """Bring analysis.json up to date. Raises LessonFolderError."""
    found = lesson.found
    lesson.folder.write_analysis(analysis(found.take, found.script, found.match, lesson.resolved, lesson.effects))


def changes_since(known: KnownTake) -> tuple[str, ...]:
    """What happened to the take's files since they were analysed, in sentences."""
    says = []
    for stamp in known.stamps:
        try:
            now = Path(stamp.path).stat()
        except OSError:
            says.append(f"{stamp.path} is no longer there; analyze again with its new place (it is not heard again).")
            continue
        if (now.st_size, now.st_mtime_ns) != (stamp.size_bytes, stamp.modified_ns):
            says.append(f"{stamp.path} has been changed since it was analysed; analyze again.")
    return tuple(says)


def check_take_is_there(known: KnownTake) -> None:
    """Raises TakeError when a file of the take is gone or changed: nothing can be cut from it."""
    for sentence in changes_since(known):
        raise TakeError(sentence.removesuffix("."), hint="lessoncut analyze TAKE SCRIPT --lesson DIR")
