"""Which recordings and scripts of a folder make a lesson.

The rule, for the folder and every folder below it:

1. A recording and a script of the same name before the ending, such as ``monday.mp4`` and ``monday.md``, are a lesson.
2. In a folder with no such two, one script and all recordings, in the order of their names, are a lesson.
3. What is left over is named, never guessed about.

Lesson folders, and folders and files whose name begins with a dot, are passed by.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from lessoncut.errors import ChoiceError
from lessoncut.script.formats import script_formats
from lessoncut.store import holds_lesson

RECORDINGS = (
    ".3gp",
    ".aac",
    ".aif",
    ".aiff",
    ".avi",
    ".caf",
    ".flac",
    ".m4a",
    ".m4v",
    ".mka",
    ".mkv",
    ".mov",
    ".mp3",
    ".mp4",
    ".mpg",
    ".mts",
    ".m2ts",
    ".mxf",
    ".oga",
    ".ogg",
    ".opus",
    ".ts",
    ".wav",
    ".webm",
    ".wma",
    ".wmv",
)
"""Endings of what cameras, phones and recorders write, in lower case."""


@dataclass(frozen=True)
class Pair:
    """One lesson to be made; ``name`` is its path under the folder without an ending, with ``/`` between."""

    name: str
    takes: tuple[Path, ...]
    script: Path


@dataclass(frozen=True)
class LeftOver:
    path: Path
    why: str


@dataclass(frozen=True)
class Pairs:
    """What a folder holds, in the order of names."""

    pairs: tuple[Pair, ...]
    left_over: tuple[LeftOver, ...]


def pairs_in(folder: Path) -> Pairs:
    """Every lesson that the folder holds takes and scripts for. Raises ChoiceError."""
    if not folder.is_dir():
        raise ChoiceError("there is no such folder", where=str(folder), hint="name the folder with takes and scripts")
    if holds_lesson(folder):
        raise ChoiceError("this is a lesson folder itself", where=str(folder), hint="name the folder with the takes")
    pairs: list[Pair] = []
    left: list[LeftOver] = []

    def unread(error: OSError) -> None:
        left.append(LeftOver(Path(error.filename), f"cannot be read ({error.strerror})"))

    for place, below, files in os.walk(folder, onerror=unread):
        here = Path(place)
        below[:] = sorted(name for name in below if not name.startswith(".") and not holds_lesson(here / name))
        found = _pairs_of(folder, [here / name for name in sorted(files) if not name.startswith(".")])
        pairs += found.pairs
        left += found.left_over
    times = Counter(pair.name for pair in pairs)
    left += [LeftOver(p.script, f"two lessons would be called {p.name}") for p in pairs if times[p.name] > 1]
    once = [pair for pair in pairs if times[pair.name] == 1]
    return Pairs(tuple(sorted(once, key=lambda pair: pair.name)), tuple(sorted(left, key=lambda one: one.path)))


def is_recording(path: Path) -> bool:
    return path.suffix.lower() in RECORDINGS


def _pairs_of(folder: Path, files: Sequence[Path]) -> Pairs:
    """The pairs among the files of one place, which is ``folder`` or lies below it."""
    endings = {suffix for format_ in script_formats() for suffix in format_.suffixes if suffix}
    takes = [path for path in files if is_recording(path)]
    scripts = [path for path in files if path.suffix.lower() in endings]
    shared = {path.stem for path in takes} & {path.stem for path in scripts}
    if not shared and len(scripts) == 1 and takes:
        place = scripts[0].parent.relative_to(folder).as_posix()
        return Pairs((Pair(folder.resolve().name if place == "." else place, tuple(takes), scripts[0]),), ())
    pairs: list[Pair] = []
    left: list[LeftOver] = []
    for stem in sorted({path.stem for path in (*takes, *scripts)}):
        own_takes = [path for path in takes if path.stem == stem]
        own_scripts = [path for path in scripts if path.stem == stem]
        if len(own_takes) == len(own_scripts) == 1:
            name = own_scripts[0].relative_to(folder).with_suffix("").as_posix()
            pairs.append(Pair(name, tuple(own_takes), own_scripts[0]))
        else:
            left += [LeftOver(path, _why(len(own_takes), len(own_scripts))) for path in (*own_takes, *own_scripts)]
    return Pairs(tuple(pairs), tuple(left))


def _why(takes: int, scripts: int) -> str:
    if not scripts:
        return "no script of this name"
    if not takes:
        return "no recording of this name"
    return "more than one recording of this name" if takes > 1 else "more than one script of this name"
