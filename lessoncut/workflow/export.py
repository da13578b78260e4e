"""Every file that can be made from a lesson, written whole or not at all."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import nullcontext, suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from lessoncut import outputs, render
from lessoncut.outputs import Clock, Kind, NotPossible, Programme
from lessoncut.outputs.base import Recording
from lessoncut.outputs.choices import PLAIN, Choices
from lessoncut.progress import Progress, shares
from lessoncut.render.records import AS_USUAL, Wishes
from lessoncut.render.room import Needs, whole_export
from lessoncut.teaching.records import Study
from lessoncut.workflow.cover import cover_of
from lessoncut.workflow.lesson import Paced
from lessoncut.workflow.opened import check_take_is_there
from lessoncut.workflow.records import Stages, no_stages

if TYPE_CHECKING:
    from lessoncut.render.bench import Bench


@dataclass(frozen=True)
class Exported:
    """One output: where it lies, or why this lesson has no such file; ``remarks`` are sentences for the teacher."""

    output: Kind
    path: Path | None
    why_not: str | None = None
    remarks: tuple[str, ...] = ()


def wanted(names: Sequence[str]) -> tuple[Kind, ...]:
    """The outputs of these names, or all of them where none is named. Raises ChoiceError."""
    return tuple(dict.fromkeys(map(outputs.named, names))) or outputs.all_outputs()


def export(
    sheet: Paced,
    study: Study | None,
    wanted: Sequence[Kind],
    clock: Clock = "lesson",
    stages: Stages = no_stages,
    wishes: Wishes = AS_USUAL,
    choices: Choices = PLAIN,
) -> tuple[Exported, ...]:
    """Write these outputs into the lesson folder, quick ones first; those of the study need one.

    The practice tracks have the lesson's cover where ``wishes`` name none.

    Raises LessonFolderError, TakeError, ToolError.
    """
    programme = sheet.on_lesson if clock == "lesson" else sheet.on_take
    programme = replace(programme, study=study, choices=choices)
    if clock == "lesson":
        wishes = replace(wishes, cover=wishes.cover or _named(cover_of(sheet.opened.folder)))
        programme = replace(programme, footage=sheet.footage(wishes), findings=sheet.opened.found.findings)
    folder = sheet.opened.folder
    recordings = [kind for kind in wanted if isinstance(kind, Recording)]
    quick = [kind for kind in wanted if not isinstance(kind, Recording)]
    groups = [("Writing", quick)] if quick else []
    groups += [(one.name, [one]) for one in recordings]
    done: dict[str, Exported] = {}
    with folder.locked(), render.bench_in(folder.work_path) if recordings else nullcontext() as bench:
        if bench and programme.footage:
            check_take_is_there(sheet.opened.found.known)
            bench.check_room(whole_export(programme.footage, _needs(recordings, programme)))
        for name, kinds in groups:
            for kind, step in zip(kinds, shares(stages(name), [1] * len(kinds)), strict=True):
                done[kind.name] = _written(kind, programme, folder.output_path(kind.file_name(clock)), bench, step)
    return tuple(done[kind.name] for kind in wanted)


def _needs(recordings: Sequence[Recording], programme: Programme) -> Iterator[Needs]:
    for kind in recordings:
        with suppress(NotPossible):  # told when its turn comes
            yield kind.needs(programme)


def _named(path: Path | None) -> str | None:
    return None if path is None else str(path)


def _written(kind: Kind, programme: Programme, path: Path, bench: Bench | None, progress: Progress) -> Exported:
    try:
        written = kind.write(programme, path, bench, progress)
    except NotPossible as error:
        return Exported(kind, None, str(error))
    return Exported(kind, path, remarks=(*written.remarks, *kind.left_out(programme)))
