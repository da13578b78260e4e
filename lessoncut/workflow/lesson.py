"""The lesson at the teacher's pacing: on its own timeline, ready for every output."""

from __future__ import annotations

from dataclasses import dataclass

from lessoncut.decisions.log import Log
from lessoncut.lesson.build import build
from lessoncut.lesson.pacing import Pacing
from lessoncut.lesson.records import Lesson
from lessoncut.outputs.programme import Programme, on_lesson, on_take
from lessoncut.render.records import AS_USUAL, Footage, Wishes
from lessoncut.store import LessonFolder, Slot
from lessoncut.timeline.records import Marks, Timeline
from lessoncut.times import merged
from lessoncut.workflow.opened import Opened
from lessoncut.workflow.records import HEARING
from lessoncut.workflow.setting import set_for_lesson, setting_of
from lessoncut.workflow.sound import Sound

PACING = Slot("pacing", Pacing, chosen=True)


@dataclass(frozen=True)
class Paced:
    """One lesson with one pacing."""

    opened: Opened
    pacing: Pacing
    lesson: Lesson
    timeline: Timeline
    marks: Marks

    @property
    def on_lesson(self) -> Programme:
        return on_lesson(self.lesson, self.timeline, self.marks, self.opened.found.language)

    def footage(self, wishes: Wishes = AS_USUAL) -> Footage:
        """What the lesson is cut from."""
        found = self.opened.found
        hearing = self.opened.folder.read(HEARING, found.hearing_key)
        speech = [*(reading.cut for reading in found.match.readings), *(aside.span for aside in found.match.asides)]
        sounds = [*hearing.speech, *(sound.span for sound in hearing.sounds)] if hearing else []
        return Footage(found.take, self.timeline, merged([*speech, *sounds]), wishes)

    @property
    def on_take(self) -> Programme:
        found = self.opened.found
        return on_take(self.lesson, self.timeline, self.marks, found.match, found.take.duration_ms, found.language)


def pacing_of(folder: LessonFolder, log: Log | None = None) -> Pacing:
    """The pacing chosen for this lesson; the default one where none was. Raises LessonFolderError."""
    return setting_of(folder, PACING, log) or Pacing()


def remember_pacing(folder: LessonFolder, pacing: Pacing) -> None:
    """Raises LessonFolderError."""
    set_for_lesson(folder, PACING, pacing)


def paced(lesson: Opened, pacing: Pacing) -> Paced:
    """Raises TakeError when the sound is needed and its take is gone."""
    from lessoncut.timeline.layout import lay_out  # slow to import

    found = lesson.found
    built = build(found.script, found.take, found.match, lesson.effects, pacing, found.language)
    levels = Sound(lesson.folder, found.take).levels()
    timeline, marks = lay_out(built, found.take, found.match, pacing, levels)
    return Paced(lesson, pacing, built, timeline, marks)
