"""Every file that can be made from a lesson, written whole or not at all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from lessoncut import files, outputs
from lessoncut.outputs import Clock, NotPossible, Output
from lessoncut.teaching.records import Study
from lessoncut.workflow.lesson import Paced
from lessoncut.workflow.records import Stages, no_stages


@dataclass(frozen=True)
class Exported:
    """One output: where it lies, or why this lesson has no such file."""

    output: Output
    path: Path | None
    why_not: str | None = None


def wanted(names: Sequence[str]) -> tuple[Output, ...]:
    """The outputs of these names, or all of them where none is named. Raises ChoiceError."""
    return tuple(dict.fromkeys(map(outputs.named, names))) or outputs.all_outputs()


def export(
    sheet: Paced, study: Study, wanted: Sequence[Output], clock: Clock = "lesson", stages: Stages = no_stages
) -> tuple[Exported, ...]:
    """Write these outputs into the lesson folder. Raises LessonFolderError."""
    programme = replace(sheet.on_lesson if clock == "lesson" else sheet.on_take, study=study)
    folder = sheet.opened.folder
    progress = stages("Writing")
    done = []
    with folder.locked():
        for number, output in enumerate(wanted, start=1):
            path = folder.output_path(output.file_name(clock))
            try:
                files.write_whole(path, output.content(programme))
                done.append(Exported(output, path))
            except NotPossible as error:
                done.append(Exported(output, None, str(error)))
            progress(number / len(wanted))
    return tuple(done)
