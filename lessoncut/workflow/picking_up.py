"""Pick-ups: later recordings of some lines, added to a lesson that was analysed already."""

from __future__ import annotations

from pathlib import Path

from lessoncut.decisions.subjects import about_pick_up
from lessoncut.errors import LessoncutError
from lessoncut.store import LessonFolder
from lessoncut.workflow.analyze import Request, analyze
from lessoncut.workflow.deciding import decide
from lessoncut.workflow.opened import Opened, added_to, opened
from lessoncut.workflow.records import Stages, no_stages


def pick_up(folder: LessonFolder, recording: Path, stages: Stages = no_stages) -> Opened:
    """Add a recording that lies in the lesson folder, and follow the script through it.

    The decision stands before anything is heard, so that a stop loses nothing: ``catch_up`` goes on from there. Where
    the recording cannot be used, the decision is taken back. Raises TakeError, LessonFolderError, ToolError.
    """
    subject = about_pick_up(recording.relative_to(folder.path).as_posix())
    decide(folder, subject, "add")
    try:
        return catch_up(folder, stages)
    except LessoncutError:
        decide(folder, subject, "remove")
        raise


def lags(lesson: Opened) -> bool:
    """Whether pick-ups were added or taken away since the lesson was analysed."""
    wanted = tuple(str(path.absolute()) for path in added_to(lesson.folder))
    return wanted != lesson.found.pick_up_paths


def catch_up(folder: LessonFolder, stages: Stages = no_stages) -> Opened:
    """Analyse again what was analysed before, with the pick-ups that stand now. Raises as ``analyze``."""
    found = opened(folder).found
    own = tuple(Path(file.path) for file in found.take.files if file.path not in found.pick_up_paths)
    return analyze(Request(own, Path(found.script_path), found.settings), folder.path, stages)
