"""The sample lesson that comes with the package."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path

from lessoncut import files
from lessoncut.errors import ToolError

PACKAGED = Path(__file__).parent.parent / "sample"
CHECKOUT = Path(__file__).parent.parent.parent / "sample_media" / "ferry"
"""In an installed package, and in a checkout of the source."""


@dataclass(frozen=True)
class Sample:
    """Where the copy of the sample lies, and where its lesson belongs."""

    take: Path
    script: Path
    lesson: Path


def copy_sample(into: Path) -> Sample:
    """Copy the sample's take and script into the folder; what is there already is left as it is.

    Raises ToolError when the package came without its sample, LessonFolderError when nothing can be written.
    """
    home = next((place for place in (PACKAGED, CHECKOUT) if place.is_dir()), None)
    if home is None:
        raise ToolError("the sample lesson is missing from this installation", hint="install lessoncut again")
    take, script = (into / file.name for file in _files(home))
    try:
        into.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise files.cannot_write(into, error) from error
    for file in _files(home):
        if not (into / file.name).exists():
            with files.in_the_making(into / file.name) as part:
                try:
                    shutil.copyfile(file, part)
                except OSError as error:
                    raise files.cannot_write(into / file.name, error) from error
    return Sample(take, script, into / "lesson")


def _files(home: Path) -> tuple[Path, Path]:
    return next(home.glob("*.mp4")), home / "script.md"
