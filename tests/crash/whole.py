"""Whether all that stands under a final name in a lesson folder is whole: read without the project's own readers."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np

from lessoncut.decisions.log import parse
from lessoncut.decisions.records import Decision
from lessoncut.store import LessonFolder, holds_lesson

UNFINISHED = ".part-"
NO_CONTENT = ("lock", "review.lock", "review.json")


def opens(at: Path) -> LessonFolder | None:
    """The folder, which opens; None where nothing of it is there yet. Raises AssertionError for half a file."""
    for path in at.rglob("*"):
        hidden = any(part.startswith(UNFINISHED) for part in path.relative_to(at).parts)
        if path.is_file() and not hidden and path.name not in NO_CONTENT:
            _whole(path)
    if holds_lesson(at):
        return LessonFolder(at)
    left = [path.name for path in at.iterdir() if not path.name.startswith(UNFINISHED)] if at.exists() else []
    assert left in ([], ["work"])
    return None


def nothing_unfinished(at: Path) -> None:
    assert list(at.rglob(f"{UNFINISHED}*")) == []


def decided(folder: LessonFolder) -> list[str | int | None]:
    """The values of all decisions in the log, in its order."""
    return [entry.value for entry in parse(folder.decisions_text()).entries if isinstance(entry, Decision)]


def _whole(path: Path) -> None:
    """Outputs have a check of their own: they are held against those of an undisturbed export."""
    if path.parent.name == "outputs":
        return
    if path.suffix == ".json":
        json.loads(path.read_text(encoding="utf-8"))
    elif path.suffix == ".jsonl":
        path.read_text(encoding="utf-8")  # its last line may be torn: the readers' own tests are about that
    elif path.suffix == ".npy":
        assert np.load(path).ndim == 1
    elif path.suffix == ".npz":
        with np.load(path) as arrays:
            assert len(arrays["voice_db"]) == len(arrays["hiss_db"])
    else:
        raise AssertionError(f"nobody knows whether this is whole: {path}")
