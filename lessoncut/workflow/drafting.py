"""A first script from the take itself."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from lessoncut import files
from lessoncut.errors import InputError
from lessoncut.store import LessonFolder, check_free, holds_lesson
from lessoncut.workflow.listening import known_take, listen
from lessoncut.workflow.records import HearingSettings, Stages, no_stages


def write_draft(
    takes: tuple[Path, ...], to: Path, at: Path | None, settings: HearingSettings, stages: Stages = no_stages
) -> None:
    """Write the script to ``to`` as Markdown; never over another file.

    With a lesson folder ``at``, what was heard is kept there for the analysis. Raises TakeError, ToolError, InputError.
    """
    from lessoncut.script.draft import draft  # slow to import

    if to.exists():
        raise InputError("this file is there, and is not written over", where=str(to), hint="choose another with --to")
    with _lesson_place(at) as place:
        check_free(place)
        before = LessonFolder(place) if holds_lesson(place) else None
        known = known_take(before, takes, stages)
        folder = before or LessonFolder.found_or_made(place)
        with folder.locked():
            hearing = listen(folder, known, settings, stages).hearing
    files.write_whole(to, draft(hearing.words, hearing.speech, takes[0].stem).encode("utf-8", "replace"))


@contextmanager
def _lesson_place(at: Path | None) -> Iterator[Path]:
    if at is not None:
        yield at
        return
    with TemporaryDirectory(prefix="lessoncut-") as scratch:
        yield Path(scratch) / "lesson"
