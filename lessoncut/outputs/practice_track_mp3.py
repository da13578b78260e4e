"""The practice track as MP3: chapters stand in its ID3v2 tag (CHAP and CTOC)."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from lessoncut.outputs.base import Programme, Recording, Written
from lessoncut.outputs.practice import write_practice
from lessoncut.progress import Progress

if TYPE_CHECKING:
    from lessoncut.render.bench import Bench


def practice_track_mp3(programme: Programme, path: Path, bench: Bench, progress: Progress) -> Written:
    return write_practice(programme, path, bench, progress)


OUTPUT = Recording(
    name="practice-track-mp3",
    says="the practice track for any player",
    suffix=".mp3",
    make=practice_track_mp3,
)
