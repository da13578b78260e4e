"""From the take's files to what is heard in them; nothing is probed, decoded or heard twice."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lessoncut.hearing.records import Hearing
from lessoncut.journal import Journal
from lessoncut.store import LessonFolder, key_of, source_key
from lessoncut.take.content import unreadable
from lessoncut.take.records import Take
from lessoncut.workflow.records import HEARING, TAKE, HearingSettings, KnownTake, Stages, Stamp
from lessoncut.workflow.sound import TAKE_STAGE, Sound, content

if TYPE_CHECKING:
    from lessoncut.take.levels import Levels

HEARING_STAGE = (*TAKE_STAGE, "hearing", "wording")
"""Whose source makes the hearing: when that changes, the take is heard again."""
NEAR_END_MS = 1000
"""What ends so shortly before a file that is added may sound otherwise with it than without."""


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
    new = {stamp: path for stamp, path in zip(stamps, paths, strict=True) if stamp not in files}
    if new:
        from lessoncut.take.probe import probe  # slow to import

        probed = probe(tuple(new.values()), stages("Looking into the take"))
        files |= dict(zip(new, probed.files, strict=True))
    return KnownTake(Take(tuple(files[stamp] for stamp in stamps)), stamps)


def _stamp(path: Path) -> Stamp:
    try:
        status = path.stat()
    except OSError as error:
        raise unreadable(path, error) from error
    return Stamp(str(path.absolute()), status.st_size, status.st_mtime_ns)


class Growing:
    """What is kept about a take to which pick-ups may be added: what is about its own files holds whatever is added.

    ``own_ms`` is where they end, ``whole`` stands for the take as it is now; ``known`` is what holds for it, by name.
    """

    def __init__(self, journal: Journal, own_ms: int, whole: str) -> None:
        self._journal = journal
        self._own_ms = own_ms
        self._whole = f"{whole} "
        self.known: dict[str, Any] = {name.removeprefix(self._whole): value for name, value in journal.known.items()}

    def keep(self, name: str, value: Any, end_ms: int) -> None:
        """``end_ms`` is where in the take the thing ends. Raises LessonFolderError."""
        own = end_ms <= self._own_ms - NEAR_END_MS
        self._journal.keep(name if own else self._whole + name, value)
        self.known[name] = value


def growing(folder: LessonFolder, name: str, known: KnownTake, own_files: int, *made_with: object) -> Growing:
    """What is kept under ``name`` of the take whose first ``own_files`` files are its own."""
    own = Take(known.take.files[:own_files])
    journal = folder.journal(name, key_of(content(own), *made_with, source_key(*HEARING_STAGE)))
    return Growing(journal, own.duration_ms, key_of(content(known.take)))


def listen(
    folder: LessonFolder, known: KnownTake, settings: HearingSettings, stages: Stages, own_files: int | None = None
) -> Heard:
    """Decode, measure and hear; pack by pack, each kept at once. The folder must be locked.

    All files but the first ``own_files`` are pick-ups: what was heard before they were added is not heard again.
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

        packs = growing(folder, "packs", known, len(known.take.files) if own_files is None else own_files, settings)
        hearing = hear(samples, levels, settings, stages("Listening"), packs.known, packs.keep)
        folder.write(HEARING, key, hearing)
    return Heard(sound, levels, hearing, key)
