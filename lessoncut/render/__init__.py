"""Sound and picture of the finished lesson. What is slow to import is imported where it is needed."""

from __future__ import annotations

from contextlib import AbstractContextManager
from pathlib import Path
from typing import TYPE_CHECKING

from lessoncut.progress import Progress, no_progress

if TYPE_CHECKING:
    from lessoncut.render.bench import Bench
    from lessoncut.render.records import Footage, Papers, Tape
    from lessoncut.take.levels import Levels
    from lessoncut.timeline.records import Timeline


def bench_in(folder: Path) -> AbstractContextManager[Bench]:
    """A place to work in, inside ``folder``; it is gone afterwards. Raises LessonFolderError."""
    from lessoncut.render.bench import bench_in as made

    return made(folder)


def write_film(
    footage: Footage, papers: Papers, bench: Bench, to: Path, progress: Progress = no_progress
) -> tuple[str, ...]:
    """See ``film.write_film``."""
    from lessoncut.render.film import write_film as write

    return write(footage, papers, bench, to, progress)


def write_tape(
    footage: Footage, tape: Tape, bench: Bench, to: Path, progress: Progress = no_progress
) -> tuple[str, ...]:
    """See ``tape.write_tape``."""
    from lessoncut.render.tape import write_tape as write

    return write(footage, tape, bench, to, progress)


def write_glance(footage: Footage, first: int, end: int, levels: Levels, to: Path) -> int:
    """See ``glance.write_glance``."""
    from lessoncut.render.glance import write_glance as write

    return write(footage, first, end, levels, to)


def cuts_of(timeline: Timeline) -> tuple[int, ...]:
    """See ``glance.cuts_of``."""
    from lessoncut.render.glance import cuts_of as found

    return found(timeline)
