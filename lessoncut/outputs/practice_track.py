"""The practice track as AAC."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from lessoncut.outputs.base import Programme, Recording, Written
from lessoncut.outputs.practice import write_practice
from lessoncut.progress import Progress

if TYPE_CHECKING:
    from lessoncut.render.bench import Bench


def practice_track(programme: Programme, path: Path, bench: Bench, progress: Progress) -> Written:
    return write_practice(programme, path, bench, progress)


OUTPUT = Recording(
    name="practice-track",
    says="the repeat pass to practise with, a chapter a line",
    suffix=".m4a",
    make=practice_track,
)
