"""What an output is.

How to add an output:

1. Write a module in this folder, named after the output with ``_`` for ``-``.
2. Give it a function from a ``Programme`` to the text of the file (or its bytes). Text is written as UTF-8, exactly
   as it stands. A programme that the format cannot hold: raise ``NotPossible``.
3. Say so in the module: ``OUTPUT = Output(name="line-times", says="...", suffix=".txt", make=line_times)``.
   One that reads ``programme.study`` adds ``of_study=True``; one that may lack what the teacher asked for adds
   ``left_out=...``, a function that tells it (``left_out.py``).
4. Put script text through the escape of the format (``written.py`` holds those that two formats share).
5. Write a test with a golden file in ``tests/outputs/golden``, and one against something outside the project.

An output whose format may need several files is ``Parts``. One of sound or picture is a ``Recording``: its function
writes to a path, and a second one says how much room on the disk that takes; what is slow to import it reaches through
``lessoncut.render``.

Nothing else: ``outputs.all_outputs`` finds every module here that has an ``OUTPUT``.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from lessoncut import files
from lessoncut.errors import InputError
from lessoncut.outputs.programme import Clock, Programme
from lessoncut.progress import Progress, no_progress
from lessoncut.render.records import Footage
from lessoncut.render.room import Needs

if TYPE_CHECKING:
    from lessoncut.render.bench import Bench

__all__ = ["Kind", "NotPossible", "Output", "Parts", "Programme", "Recording", "Written", "footage_of"]


class NotPossible(InputError):
    """This programme cannot be put into that format; the others are not touched by it."""


@dataclass(frozen=True)
class Written:
    """The files that were written, and what the teacher should know of them: sentences."""

    paths: tuple[Path, ...]
    remarks: tuple[str, ...] = ()


def nothing(_: Programme) -> tuple[str, ...]:
    """What most outputs leave out."""
    return ()


@dataclass(frozen=True)
class Kind:
    """One kind of file. ``name`` is what the user asks for, ``says`` what it is good for."""

    name: str
    says: str
    suffix: str
    of_study: bool = field(default=False, kw_only=True)
    """Whether it is made of what was measured of the readings, too."""
    left_out: Callable[[Programme], tuple[str, ...]] = field(default=nothing, kw_only=True)
    """What the file lacks though it could be asked of it, and why: sentences for the teacher."""

    def file_name(self, clock: Clock) -> str:
        """``captions-srt.srt``, or ``captions-srt.take.srt`` on the take's own clock."""
        return f"{self.name}{'.take' if clock == 'take' else ''}{self.suffix}"

    def write(self, programme: Programme, path: Path, bench: Bench | None, progress: Progress = no_progress) -> Written:
        """Write it, whole or not at all; a recording needs a bench.

        Raises NotPossible, LessonFolderError, TakeError, ToolError.
        """
        raise NotImplementedError


@dataclass(frozen=True)
class Output(Kind):
    """One file whose content is made in memory."""

    make: Callable[[Programme], str | bytes]

    def content(self, programme: Programme) -> bytes:
        """The file's bytes. Raises NotPossible."""
        made = self.make(programme)
        return made.encode() if isinstance(made, str) else made

    def write(
        self,
        programme: Programme,
        path: Path,
        bench: Bench | None,  # noqa: ARG002 - only recordings need it
        progress: Progress = no_progress,
    ) -> Written:
        files.write_whole(path, self.content(programme))
        progress(1.0)
        return Written((path,))


@dataclass(frozen=True)
class Parts(Kind):
    """One text, or several where the format cannot hold it all in one: ``name.edl``, ``name.2.edl`` and so on."""

    make: Callable[[Programme], tuple[str, ...]]

    def write(
        self,
        programme: Programme,
        path: Path,
        bench: Bench | None,  # noqa: ARG002 - only recordings need it
        progress: Progress = no_progress,
    ) -> Written:
        parts = self.make(programme)
        names = [path.stem, *(f"{path.stem}.{number}" for number in range(2, len(parts) + 1))]
        paths = tuple(path.with_name(f"{name}{path.suffix}") for name in names)
        for part, place in zip(parts, paths, strict=True):
            files.write_whole(place, part.encode())
        for stale in set(path.parent.glob(f"{path.stem}.[0-9]*{path.suffix}")) - set(paths):
            stale.unlink(missing_ok=True)
        progress(1.0)
        return Written(paths)


@dataclass(frozen=True)
class Recording(Kind):
    """Sound or picture, which takes a while; ``make`` writes it.

    ``needs`` says what that takes on the disk, about; it raises NotPossible where ``make`` would.
    """

    make: Callable[[Programme, Path, Bench, Progress], Written]
    needs: Callable[[Programme], Needs]

    def write(self, programme: Programme, path: Path, bench: Bench | None, progress: Progress = no_progress) -> Written:
        assert bench
        return self.make(programme, path, bench, progress)


def footage_of(programme: Programme) -> Footage:
    """What the lesson is cut from. Raises NotPossible where the programme is not the lesson."""
    if programme.footage is None or not programme.footage.timeline.edits:
        raise NotPossible("there is no lesson to be cut here", hint="export without --on take")
    return programme.footage
