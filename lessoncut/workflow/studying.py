"""What a teacher of pronunciation measures, of the readings that play."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from lessoncut.analysis import kept_readings
from lessoncut.decisions.log import Log
from lessoncut.hearing.records import AlignmentRequest
from lessoncut.matching.records import Match, Reading
from lessoncut.outputs.choices import PLAIN, Choices
from lessoncut.progress import shares
from lessoncut.store import LessonFolder, Slot, key_of, source_key
from lessoncut.teaching.records import ReadPhone
from lessoncut.times import Span
from lessoncut.workflow.listening import HEARING_STAGE
from lessoncut.workflow.opened import Opened
from lessoncut.workflow.records import Stages, no_stages
from lessoncut.workflow.setting import set_for_lesson, setting_of
from lessoncut.workflow.sound import Sound

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from lessoncut.outputs.base import Kind
    from lessoncut.take.samples import Samples
    from lessoncut.teaching.records import Study

AROUND_MS = 250
"""Sound on either side of a reading that its own sounds are laid on, up to the speech beside it."""


@dataclass(frozen=True)
class Targets:
    """The lesson's target sounds as the teacher names them, such as ``v/w``; none: empty."""

    sounds: str = ""


@dataclass(frozen=True)
class Laid:
    """The single sounds of one reading; none where its words have no path."""

    reading_id: str
    phones: tuple[ReadPhone, ...]


@dataclass(frozen=True)
class AllLaid:
    readings: tuple[Laid, ...]


TARGETS = Slot("targets", Targets, chosen=True)
CHOICES = Slot("teaching", Choices, chosen=True)
PHONES = Slot("phones", AllLaid)


def targets_of(folder: LessonFolder, log: Log | None = None) -> Targets:
    """The sounds named for this lesson. Raises LessonFolderError."""
    return setting_of(folder, TARGETS, log) or Targets()


def remember_targets(folder: LessonFolder, targets: Targets) -> None:
    """Raises LessonFolderError."""
    set_for_lesson(folder, TARGETS, targets)


def choices_of(folder: LessonFolder, log: Log | None = None) -> Choices:
    """What was chosen for this lesson's handout, teaching captions and practice pack. Raises LessonFolderError."""
    return setting_of(folder, CHOICES, log) or PLAIN


def remember_choices(folder: LessonFolder, choices: Choices) -> None:
    """Raises LessonFolderError."""
    set_for_lesson(folder, CHOICES, choices)


def study_for(kinds: Sequence[Kind], lesson: Opened, targets: Targets, stages: Stages = no_stages) -> Study | None:
    """The study, where any of these outputs is made of it. Raises like ``studied``."""
    return studied(lesson, targets, stages) if any(kind.of_study for kind in kinds) else None


def studied(lesson: Opened, targets: Targets, stages: Stages = no_stages) -> Study:
    """Raises ChoiceError for target sounds that do not exist, TakeError when the sound cannot be had."""
    from lessoncut.hearing.commonness import commonness  # these are slow to import
    from lessoncut.teaching.study import study

    found, kept = lesson.found, kept_readings(lesson.effects)
    readings = tuple(replace(reading, kept=reading.id in kept) for reading in found.match.readings)
    sound = Sound(lesson.folder, found.take)
    samples, levels = sound.samples(stages), sound.levels(stages)
    phones = _phones(lesson, sound, samples, stages)
    return study(
        found.script,
        replace(found.match, readings=readings),
        samples,
        levels,
        phones=phones,
        sounds=targets.sounds,
        commonness=commonness,
        language=found.language,
        progress=stages("Measuring the readings"),
    )


def _phones(lesson: Opened, sound: Sound, samples: Samples, stages: Stages) -> Mapping[str, tuple[ReadPhone, ...]]:
    """The aligned sounds of every full reading that has them, kept or not: no decision makes them anew."""
    from lessoncut.hearing.align import LANGUAGE, Aligner  # slow to import

    if lesson.found.language != LANGUAGE:
        return {}
    requests = phone_requests(lesson.found.match)
    key = key_of(sound.key, sorted(requests.items()), source_key(*HEARING_STAGE))
    known = lesson.folder.read(PHONES, key)
    if known is None:
        aligner, made = Aligner(samples), []
        steps = shares(stages("Laying the sounds"), [request.window.length_ms for request in requests.values()])
        for (reading_id, request), step in zip(requests.items(), steps, strict=True):
            laid = (ReadPhone(one.phone, one.span, one.word) for one in aligner.phones(request))
            made.append(Laid(reading_id, tuple(laid)))
            step(1.0)
        known = AllLaid(tuple(made))
        lesson.folder.write(PHONES, key, known)
    return {laid.reading_id: laid.phones for laid in known.readings if laid.phones}


def phone_requests(match: Match) -> dict[str, AlignmentRequest]:
    """What the aligner is asked of every full reading, by its id: its words, and no speech beside it."""
    speech = [*(reading.span for reading in match.readings), *(aside.span for aside in match.asides)]
    starts, ends = sorted(span.start_ms for span in speech), sorted(span.end_ms for span in speech)

    def window(reading: Reading) -> Span:
        own = reading.span
        before, after = bisect_right(ends, own.start_ms), bisect_left(starts, own.end_ms)
        start_ms = max(own.start_ms - AROUND_MS, ends[before - 1] if before else 0)
        end_ms = own.end_ms + AROUND_MS
        return Span(start_ms, min(end_ms, starts[after]) if after < len(starts) else end_ms)

    return {
        reading.id: AlignmentRequest(reading.line_id, tuple(word.text for word in reading.words), window(reading))
        for reading in match.readings
        if reading.kind == "full" and reading.words
    }
