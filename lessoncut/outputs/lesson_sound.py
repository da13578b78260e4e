"""The finished lesson's sound alone: for takes without a picture, and for the ear."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from lessoncut import files, render
from lessoncut.outputs.base import Programme, Recording, Written, footage_of
from lessoncut.outputs.chapters_ffmetadata import chapters_ffmetadata
from lessoncut.outputs.languages import three_letters
from lessoncut.progress import Progress
from lessoncut.render.records import Tape
from lessoncut.render.room import Needs, tape_needs

if TYPE_CHECKING:
    from lessoncut.render.bench import Bench


def lesson_sound(programme: Programme, path: Path, bench: Bench, progress: Progress) -> Written:
    """AAC with the lesson's chapters."""
    footage, tape = footage_of(programme), whole_tape(programme)
    with files.in_the_making(path) as unfinished:
        return Written((path,), render.write_tape(footage, tape, bench, unfinished, progress))


def lesson_sound_needs(programme: Programme) -> Needs:
    return tape_needs(footage_of(programme), whole_tape(programme))


def whole_tape(programme: Programme) -> Tape:
    """The lesson from its first frame to its last. Raises NotPossible where the programme is not the lesson."""
    whole = ((0, footage_of(programme).timeline.frames),)
    return Tape(whole, chapters_ffmetadata(programme), three_letters(programme.language))


OUTPUT = Recording(
    name="lesson-sound",
    says="the finished lesson's sound, with its chapters",
    suffix=".m4a",
    make=lesson_sound,
    needs=lesson_sound_needs,
)
