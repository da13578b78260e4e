"""The lesson that is being reviewed: what stands on the disk, and every change that goes there."""

from __future__ import annotations

from dataclasses import dataclass, replace
from threading import Lock

from lessoncut.decisions.log import current
from lessoncut.decisions.records import Decision, Undo
from lessoncut.errors import ChoiceError
from lessoncut.hearing.records import Hearing
from lessoncut.lesson.pacing import Pacing
from lessoncut.outputs.choices import Choices
from lessoncut.review.asked import Asked, Body, asked, choices_asked, pacing_asked, targets_asked
from lessoncut.store import LessonFolder
from lessoncut.take.levels import HOP_MS, Levels
from lessoncut.workflow import deciding
from lessoncut.workflow.lesson import Paced, paced, pacing_of, remember_pacing
from lessoncut.workflow.opened import Opened, opened
from lessoncut.workflow.records import HEARING
from lessoncut.workflow.sound import Sound
from lessoncut.workflow.studying import Targets, choices_of, remember_choices, remember_targets, targets_of

SNAP_MS = 60
"""How far an edge that is to lie where it is quiet may be moved for it."""


Setting = Pacing | Targets | Choices
"""What the teacher sets for the whole lesson."""


@dataclass(frozen=True)
class Change:
    """Of a setting. ``after`` is the number of the latest decision that stood when it was made."""

    after: int
    before: Setting
    now: Setting

    @property
    def says(self) -> str:
        if isinstance(self.now, Pacing):
            return "the change of the gaps"
        return "the target sounds" if isinstance(self.now, Targets) else "what the handout shows"


@dataclass(frozen=True)
class Seen:
    """The whole lesson at one revision of what stands on the disk."""

    revision: str
    sheet: Paced
    hearing: Hearing | None
    targets: Targets
    choices: Choices
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
        self._done: list[Change] = []
        self._undone: list[Change] = []

    # -- looking ------------------------------------------------------------------------------------------

    def seen(self) -> Seen:
        """What stands on the disk now. Raises LessonFolderError, TakeError."""
        with self._lock:
            return self._look()

    def _look(self) -> Seen:
        revision = self.folder.revision()
        if self._seen is None or self._seen.revision != revision:
            lesson = opened(self.folder)
            sheet = paced(lesson, pacing_of(self.folder))
            hearing = self.folder.read(HEARING, lesson.found.hearing_key)
            chosen = (targets_of(self.folder), choices_of(self.folder))
            self._seen = Seen(revision, sheet, hearing, *chosen, *self._named(lesson))
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
            self._undone.clear()
            return self._look()

    def set_pacing(self, body: Body) -> Seen:
        """Raises ChoiceError, LessonFolderError."""
        with self._lock:
            before = self._look().sheet.pacing
            return self._set(before, pacing_asked(body, before))

    def set_targets(self, body: Body) -> Seen:
        """Raises ChoiceError, LessonFolderError."""
        with self._lock:
            return self._set(self._look().targets, targets_asked(body))

    def set_choices(self, body: Body) -> Seen:
        """Raises ChoiceError, LessonFolderError."""
        with self._lock:
            before = self._look().choices
            return self._set(before, choices_asked(body, before))

    def undo(self) -> Seen:
        """Take back the latest decision or change of a setting. Raises ChoiceError when there is none."""
        with self._lock:
            lesson = self._look().lesson
            if self._done and self._done[-1].after >= _standing(lesson):
                change = self._done.pop()
                self._remember(change.before)
                self._undone.append(change)
            else:
                deciding.undo(self.folder)
            return self._again()

    def redo(self) -> Seen:
        """Bring back what was taken back last. Raises ChoiceError when there is nothing."""
        with self._lock:
            lesson = self._look().lesson
            if self._undone and self._undone[-1].after <= _standing(lesson):
                change = self._undone.pop()
                self._remember(change.now)
                self._done.append(replace(change, after=_standing(lesson)))
            else:
                deciding.redo(self.folder)
            return self._again()

    # -- inside -------------------------------------------------------------------------------------------

    def _set(self, before: Setting, now: Setting) -> Seen:
        if now != before:
            after = _standing(self._look().lesson)
            self._remember(now)
            self._done.append(Change(after, before, now))
            self._undone.clear()
        return self._again()

    def _remember(self, setting: Setting) -> None:
        if isinstance(setting, Pacing):
            remember_pacing(self.folder, setting)
        elif isinstance(setting, Targets):
            remember_targets(self.folder, setting)
        else:
            remember_choices(self.folder, setting)

    def _again(self) -> Seen:
        self._seen = None
        return self._look()

    def _named(self, lesson: Opened) -> tuple[str | None, str | None]:
        """What undo and redo would do, in words."""
        last = _standing(lesson)
        standing = current(lesson.log.entries)
        undoes = says(standing[-1]) if standing else None
        if self._done and self._done[-1].after >= last:
            undoes = self._done[-1].says
        redoes = "what was undone last" if _can_redo(lesson) else None
        if self._undone and self._undone[-1].after <= last:
            redoes = self._undone[-1].says
        return undoes, redoes

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


def says(decision: Decision) -> str:
    """A decision in a few words, for the button that takes it back."""
    subject = (decision.subject.finding or decision.subject.kind).replace("_", " ")
    return f"{subject}: {decision.choice.replace('_', ' ')}"


def _check_choice(lesson: Opened, body: Body, what: Asked) -> None:
    finding = next(item for item in lesson.found.findings if item.id == body["about"]["id"])
    names = [choice.name for choice in finding.choices]
    if what.choice not in names:
        raise ChoiceError(f"{what.choice!r} is no choice for it", where=finding.id, hint=f"one of {', '.join(names)}")


def _standing(lesson: Opened) -> int:
    """The number of the latest decision that stands, which the next undo would take back."""
    decisions = current(lesson.log.entries)
    return decisions[-1].number if decisions else 0


def _can_redo(lesson: Opened) -> bool:
    undone = 0
    for entry in lesson.log.entries:
        undone = 0 if isinstance(entry, Decision) else max(0, undone + (1 if isinstance(entry, Undo) else -1))
    return undone > 0
