"""The picture of the practice tracks: copied into the lesson folder, and kept for every export."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from lessoncut.decisions.log import Log
from lessoncut.render.cover import cover_suffix
from lessoncut.store import LessonFolder, Slot
from lessoncut.workflow.setting import set_for_lesson, setting_of


@dataclass(frozen=True)
class Cover:
    """``path`` is inside the lesson folder; None: no picture."""

    path: str | None = None


COVER = Slot("cover", Cover, chosen=True)


def cover_of(folder: LessonFolder, log: Log | None = None) -> Path | None:
    """Raises LessonFolderError for one that does not lie in the folder."""
    cover = setting_of(folder, COVER, log)
    if cover is None or cover.path is None:
        return None
    outside = "a picture from outside the lesson folder was chosen"
    return folder.own_file(cover.path, outside, "lessoncut undo takes it back")


def remember_cover(folder: LessonFolder, name: str, content: bytes) -> None:
    """Keep a picture that comes from a file of that name. Raises InputError for no picture, LessonFolderError."""
    path = folder.keep_cover(f"{Path(name).stem}{cover_suffix(content, name)}", content)
    set_for_lesson(folder, COVER, Cover(path.relative_to(folder.path).as_posix()))


def forget_cover(folder: LessonFolder) -> None:
    """The tracks have no picture from now on; it stays in the folder, for undo."""
    set_for_lesson(folder, COVER, Cover())
