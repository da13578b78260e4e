"""The take's sound and its levels, decoded and measured once for each lesson folder."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING
from zipfile import BadZipFile

from lessoncut import files
from lessoncut.errors import LessonFolderError
from lessoncut.store import LessonFolder, key_of, source_key
from lessoncut.take.records import Take, TakeFile
from lessoncut.workflow.records import Stages, no_stages

if TYPE_CHECKING:
    from pathlib import Path

    from lessoncut.take.levels import Levels
    from lessoncut.take.samples import Samples

TAKE_STAGE = ("take", "ffmpeg")
"""Whose source makes the sound: when that changes, it is made anew."""


def content(take: Take) -> tuple[TakeFile, ...]:
    """The take without where it lies: a file that was moved is still the same."""
    return tuple(replace(file, path="") for file in take.files)


@dataclass(frozen=True)
class Sound:
    """The sound of one take, kept in the lesson folder."""

    folder: LessonFolder
    take: Take

    @property
    def key(self) -> str:
        return key_of(content(self.take), source_key(*TAKE_STAGE))

    @property
    def path(self) -> Path:
        """Where the decoded sound is kept, once it was asked for."""
        return self.folder.sound_path(self.key)

    def samples(self, stages: Stages = no_stages) -> Samples:
        """Raises TakeError when it must be decoded and the take is gone; LessonFolderError; ToolError."""
        from lessoncut.take.decode import decode, mapped  # slow to import

        path = self.path
        if path.exists():
            try:
                return mapped(path)
            except LessonFolderError:
                path.unlink()
        samples = decode(self.take, path, stages("Decoding the sound"))
        self.folder.keep_only_sound(self.key)
        return samples

    def levels(self, stages: Stages = no_stages) -> Levels:
        """Raises like ``samples``, where the levels are not kept yet."""
        import numpy as np  # slow to import

        from lessoncut.take.levels import Levels

        path = self.folder.levels_path(self.key)
        try:
            # NumPy leaves a damaged archive open that it opened itself.
            with path.open("rb") as file, np.load(file, allow_pickle=False) as kept:
                return Levels(kept["voice_db"], kept["hiss_db"])
        except (OSError, ValueError, KeyError, EOFError, BadZipFile):
            from lessoncut.take.measure import measure  # slower still

            levels = measure(self.samples(stages), stages("Measuring the sound"))
        with files.in_the_making(path) as part:
            try:
                np.savez(part, voice_db=levels.voice_db, hiss_db=levels.hiss_db)
            except OSError as error:
                raise files.cannot_write(path, error) from error
        return levels
