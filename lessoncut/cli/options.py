"""Arguments and options that several commands share."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Annotated, Any

import typer

from lessoncut.cli.running import session
from lessoncut.errors import ChoiceError
from lessoncut.lesson.pacing import LEVELS, Pacing
from lessoncut.store import LessonFolder
from lessoncut.times import milliseconds

Lesson = Annotated[Path, typer.Argument(metavar="DIR", help="The lesson folder.", readable=False)]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON for other programs instead of tables.")]
Model = Annotated[
    str | None,
    typer.Option("--model", metavar="NAME", help="The recogniser's model: a size such as base, or a folder."),
]
Language = Annotated[
    str | None, typer.Option("--language", metavar="CODE", help="The language spoken, such as en; else it is detected.")
]
Device = Annotated[str, typer.Option("--device", metavar="NAME", help="Where the recogniser runs: auto, cpu or cuda.")]

Level = Annotated[str | None, typer.Option("--level", help=f"The learners' level: {', '.join(LEVELS)}.")]
Factor = Annotated[
    float | None, typer.Option("--factor", help="How many times a line's length its gap is, at least.", min=0.0)
]
Reaction = Annotated[
    float | None, typer.Option("--reaction", metavar="S", help="Seconds a learner needs to begin.", min=0.0)
]
Least = Annotated[float | None, typer.Option("--least", metavar="S", help="No gap is shorter, in seconds.", min=0.0)]
Most = Annotated[float | None, typer.Option("--most", metavar="S", help="No gap is longer, in seconds.", min=0.0)]
Split = Annotated[
    bool | None, typer.Option("--split/--whole", help="Split long lines at thought groups, or play them whole.")
]
BuildUp = Annotated[
    bool | None, typer.Option("--build-up/--parts-only", help="Say a split line again as a whole after its parts.")
]

Hold = Annotated[
    bool | None,
    typer.Option("--hold/--recorded", help="Hold the picture through every gap, or play its recorded pause first."),
]


def open_folder(path: Path) -> LessonFolder:
    """The lesson folder that the user named. Raises LessonFolderError."""
    session.lesson = path
    return LessonFolder(path)


def pacing_from(
    before: Pacing,
    level: str | None,
    factor: float | None,
    reaction_s: float | None,
    least_s: float | None,
    most_s: float | None,
    split: bool | None,
    build_up: bool | None,
    hold: bool | None,
) -> Pacing:
    """The pacing with what was asked for changed. Another level starts from that level's own values.

    Raises ChoiceError.
    """
    base = before if level is None or level.upper() == before.level else Pacing(_level(level), fill=before.fill)
    asked: dict[str, Any] = {
        "factor": None if factor is None else Fraction(str(factor)),
        "reaction_ms": _ms(reaction_s),
        "least_ms": _ms(least_s),
        "most_ms": _ms(most_s),
        "split": split,
        "build_up": build_up,
        "fill": None if hold is None else "hold" if hold else "recorded",
    }
    return replace(base, **{name: value for name, value in asked.items() if value is not None})


def _ms(at_s: float | None) -> int | None:
    return None if at_s is None else milliseconds(at_s)


def _level(name: str) -> str:
    if name.upper() not in LEVELS:
        raise ChoiceError(f"there is no level {name!r}", hint=f"one of {', '.join(LEVELS)}")
    return name.upper()
