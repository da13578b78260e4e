"""What a teacher of pronunciation measures, of the readings that play."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from lessoncut.analysis import kept_readings
from lessoncut.store import LessonFolder, Slot
from lessoncut.workflow.opened import Opened
from lessoncut.workflow.sound import Sound

if TYPE_CHECKING:
    from lessoncut.teaching.records import Study


@dataclass(frozen=True)
class Targets:
    """The lesson's target sounds as the teacher names them, such as ``v/w``; none: empty."""

    sounds: str = ""


TARGETS = Slot("targets", Targets, chosen=True)


def targets_of(folder: LessonFolder) -> Targets:
    """The sounds named for this lesson."""
    return folder.read(TARGETS) or Targets()


def remember_targets(folder: LessonFolder, targets: Targets) -> None:
    """Raises LessonFolderError."""
    folder.write(TARGETS, "", targets)


def studied(lesson: Opened, targets: Targets) -> Study:
    """Raises ChoiceError for target sounds that do not exist, TakeError when the sound cannot be had."""
    from lessoncut.hearing.commonness import commonness  # these are slow to import
    from lessoncut.teaching.study import study

    found, kept = lesson.found, kept_readings(lesson.effects)
    readings = tuple(replace(reading, kept=reading.id in kept) for reading in found.match.readings)
    sound = Sound(lesson.folder, found.take)
    return study(
        found.script,
        replace(found.match, readings=readings),
        sound.samples(),
        sound.levels(),
        sounds=targets.sounds,
        commonness=commonness,
        language=found.language,
    )
