"""The practice track for a slow start: the learner gets longer, too."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from lessoncut.outputs.base import Programme, Recording, Written
from lessoncut.outputs.practice import SLOW, practice_needs, write_practice
from lessoncut.progress import Progress
from lessoncut.render.room import Needs

if TYPE_CHECKING:
    from lessoncut.render.bench import Bench


def practice_track_slow(programme: Programme, path: Path, bench: Bench, progress: Progress) -> Written:
    return write_practice(programme, path, bench, progress, SLOW)


def practice_track_slow_needs(programme: Programme) -> Needs:
    return practice_needs(programme, SLOW)


OUTPUT = Recording(
    name="practice-track-slow",
    says="the practice track at 0.8 of its speed, at the same pitch",
    suffix=".m4a",
    make=practice_track_slow,
    needs=practice_track_slow_needs,
)
