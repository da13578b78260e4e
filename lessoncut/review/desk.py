"""The lesson that is being reviewed: what stands on the disk, and every change that goes there."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from threading import Lock

from lessoncut.decisions.log import SETTINGS
from lessoncut.decisions.records import Setting, Step
from lessoncut.errors import ChoiceError
from lessoncut.hearing.records import Hearing
from lessoncut.outputs.choices import Choices
from lessoncut.review.asked import Asked, Body, asked, choices_asked, pacing_asked, targets_asked
from lessoncut.store import LessonFolder
from lessoncut.take.levels import HOP_MS, Levels
from lessoncut.workflow import deciding
from lessoncut.workflow.cover import cover_of, forget_cover, remember_cover
from lessoncut.workflow.lesson import Paced, paced, pacing_of, remember_pacing
from lessoncut.workflow.opened import Opened, opened
from lessoncut.workflow.records import HEARING
from lessoncut.workflow.sound import Sound
from lessoncut.workflow.studying import Targets, choices_of, remember_choices, remember_targets, targets_of

SNAP_MS = 60
"""How far an edge that is to lie where it is quiet may be moved for it."""


@dataclass(frozen=True)
class Seen:
    """The whole lesson at one revision of what stands on the disk."""

    revision: str
    sheet: Paced
    hearing: Hearing | None
    targets: Targets
    choices: Choices
    cover: Path | None
    undoes: str | None
    redoes: str | None

    @property
    def lesson(self) -> Opened:
        return self.sheet.opened


class Desk:
    """One lesson folder. Every method may be called from any thread."""

    def __init__(self, folder: LessonFolder) -> None:
        self.folder = folder
        self._lock = Lock()
        self._seen: Seen | None = None

    # -- looking ------------------------------------------------------------------------------------------

    def seen(self) -> Seen:
        """What stands on the disk now. Raises LessonFolderError, TakeError."""
        with self._lock:
            return self._look()

    def _look(self) -> Seen:
        revision = self.folder.revision()
        if self._seen is None or self._seen.revision != revision:
            folder, lesson = self.folder, opened(self.folder)
            log = lesson.log
            sheet = paced(lesson, pacing_of(folder, log))
            hearing = folder.read(HEARING, lesson.found.hearing_key)
            chosen = (targets_of(folder, log), choices_of(folder, log), cover_of(folder, log))
            next_ones = (says(steps[-1]) if steps else None for steps in log.replayed)
            self._seen = Seen(revision, sheet, hearing, *chosen, *next_ones)
        return self._seen

    def tried(self, body: Body) -> Paced:
        """The lesson at another pacing, without keeping it. Raises ChoiceError."""
        sheet = self.seen().sheet
        return paced(sheet.opened, pacing_asked(body, sheet.pacing))

    def levels(self) -> Levels:
        lesson = self.seen().lesson
        return Sound(self.folder, lesson.found.take).levels()

    # -- changing: on the disk before it is seen ----------------------------------------------------------------

    def decide(self, body: Body) -> Seen:
        """Raises ChoiceError for what cannot be decided, LessonFolderError when the disk does not take it."""
        with self._lock:
            lesson = self._look().lesson
            what = asked(body, lesson)
            if what.subject.kind == "edge" and isinstance(what.value, int):
                what = self._fitting(what, snap=body.get("snap") is True)
            elif what.subject.kind == "finding":
                _check_choice(lesson, body, what)
            deciding.decide(self.folder, what.subject, what.choice, what.value, what.reading)
            return self._look()

    def set_pacing(self, body: Body) -> Seen:
        """Raises ChoiceError, LessonFolderError."""
        with self._lock:
            remember_pacing(self.folder, pacing_asked(body, self._look().sheet.pacing))
            return self._look()

    def set_targets(self, body: Body) -> Seen:
        """Raises ChoiceError, LessonFolderError."""
        with self._lock:
            remember_targets(self.folder, targets_asked(body))
            return self._look()

    def set_choices(self, body: Body) -> Seen:
        """Raises ChoiceError, LessonFolderError."""
        with self._lock:
            remember_choices(self.folder, choices_asked(body, self._look().choices))
            return self._look()

    def set_cover(self, name: str, content: bytes) -> Seen:
        """No content: no picture. Raises InputError for what is none, LessonFolderError."""
        with self._lock:
            if content:
                remember_cover(self.folder, name, content)
            else:
                forget_cover(self.folder)
            return self._look()

    def undo(self) -> Seen:
        """Take back the latest decision or setting. Raises ChoiceError when there is none."""
        with self._lock:
            deciding.undo(self.folder)
            return self._look()

    def redo(self) -> Seen:
        """Bring back what was taken back last. Raises ChoiceError when there is nothing."""
        with self._lock:
            deciding.redo(self.folder)
            return self._look()

    # -- inside -------------------------------------------------------------------------------------------

    def _fitting(self, what: Asked, *, snap: bool) -> Asked:
        """An edge inside the take and on its own side of the reading; where asked for, at the quietest place near."""
        assert isinstance(what.value, int) and what.subject.span
        lesson = self._look().lesson
        middle_ms, take_ms = what.subject.span.middle_ms, lesson.found.take.duration_ms
        first, last = (0, middle_ms - 10) if what.subject.edge == "start" else (middle_ms + 10, take_ms)
        at_ms = min(max(what.value, first), last)
        if snap:
            at_ms = min(max(quietest_ms(Sound(self.folder, lesson.found.take).levels(), at_ms), first), last)
        return Asked(what.subject, what.choice, at_ms, what.reading)


def quietest_ms(levels: Levels, at_ms: int) -> int:
    """The middle of the quietest 10 ms within ``SNAP_MS``; the nearer of two that are equally quiet."""
    first = max(0, (at_ms - SNAP_MS) // HOP_MS)
    last = min(len(levels.voice_db), (at_ms + SNAP_MS) // HOP_MS + 1)
    if first >= last:
        return at_ms

    def loudness(hop: int) -> tuple[float, int]:
        return float(levels.voice_db[hop]), abs(hop * HOP_MS + HOP_MS // 2 - at_ms)

    return min(range(first, last), key=loudness) * HOP_MS + HOP_MS // 2


def says(step: Step) -> str:
    """A step in a few words, for the button that takes it back."""
    if isinstance(step, Setting):
        return SETTINGS[step.name]
    subject = (step.subject.finding or step.subject.kind).replace("_", " ")
    return f"{subject}: {step.choice.replace('_', ' ')}"


def _check_choice(lesson: Opened, body: Body, what: Asked) -> None:
    finding = next(item for item in lesson.found.findings if item.id == body["about"]["id"])
    names = [choice.name for choice in finding.choices]
    if what.choice not in names:
        raise ChoiceError(f"{what.choice!r} is no choice for it", where=finding.id, hint=f"one of {', '.join(names)}")
