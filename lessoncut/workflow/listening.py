"""From the take's files to what is heard in them; nothing is probed, decoded or heard twice."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from lessoncut.hearing.records import Hearing
from lessoncut.store import LessonFolder, key_of, source_key
from lessoncut.take.content import unreadable
from lessoncut.take.records import Take
from lessoncut.workflow.records import HEARING, TAKE, HearingSettings, KnownTake, Stages, Stamp
from lessoncut.workflow.sound import TAKE_STAGE, Sound

if TYPE_CHECKING:
    from lessoncut.take.levels import Levels

HEARING_STAGE = (*TAKE_STAGE, "hearing", "wording")
"""Whose source makes the hearing: when that changes, the take is heard again."""


@dataclass(frozen=True)
class Heard:
    """A take that was listened to. ``key`` stands for all that the hearing was made from."""

    sound: Sound
    levels: Levels
    hearing: Hearing
    key: str


def known_take(folder: LessonFolder | None, paths: tuple[Path, ...], stages: Stages) -> KnownTake:
    """The facts about the take; a file that looks as it did when it was probed is not opened again.

    Raises TakeError.
    """
    stamps = tuple(_stamp(path) for path in paths)
    kept = folder.read(TAKE, source_key(*TAKE_STAGE)) if folder else None
    files = dict(zip(kept.stamps, kept.take.files, strict=True)) if kept else {}
    if all(stamp in files for stamp in stamps):
        return KnownTake(Take(tuple(files[stamp] for stamp in stamps)), stamps)
    from lessoncut.take.probe import probe  # slow to import

    return KnownTake(probe(paths, stages("Looking into the take")), stamps)


def _stamp(path: Path) -> Stamp:
    try:
        status = path.stat()
    except OSError as error:
        raise unreadable(path, error) from error
    return Stamp(str(path.absolute()), status.st_size, status.st_mtime_ns)


def listen(folder: LessonFolder, known: KnownTake, settings: HearingSettings, stages: Stages) -> Heard:
    """Decode, measure and hear; pack by pack, each kept at once. The folder must be locked.

    Raises TakeError, ToolError, LessonFolderError.
    """
    from lessoncut.take.levels import require_sound  # slow to import

    sound = Sound(folder, known.take)
    samples = sound.samples(stages)
    levels = sound.levels(stages)
    require_sound(levels)
    folder.write(TAKE, source_key(*TAKE_STAGE), known)
    key = key_of(sound.key, settings, source_key(*HEARING_STAGE))
    hearing = folder.read(HEARING, key)
    if hearing is None:
        from lessoncut.hearing.hear import hear  # slow to import

        packs = folder.journal("packs", key)
        hearing = hear(samples, levels, settings, stages("Listening"), packs.known, packs.keep)
        folder.write(HEARING, key, hearing)
    return Heard(sound, levels, hearing, key)
