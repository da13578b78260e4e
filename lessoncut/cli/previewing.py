"""``preview``."""

from __future__ import annotations

from typing import Annotated

import typer

from lessoncut.cli.options import Lesson, open_folder
from lessoncut.cli.terminal import answers, note, plain
from lessoncut.errors import ChoiceError
from lessoncut.workflow.lesson import paced, pacing_of
from lessoncut.workflow.opened import opened
from lessoncut.workflow.preview import preview_cut, preview_line

Line = Annotated[str | None, typer.Option("--line", metavar="LINE", help="A line, as 12 or L012, where it plays last.")]
Cut = Annotated[int | None, typer.Option("--cut", metavar="N", help="A cut, counted from 1 through the lesson.")]


def preview(lesson: Lesson, line: Line = None, cut: Cut = None) -> None:
    """Make a few seconds of the lesson around a line or a cut, small and at once."""
    if (line is None) == (cut is None):
        raise ChoiceError("name a line or a cut", hint="lessoncut preview DIR --line 12, or --cut 7")
    folder = open_folder(lesson)
    at_hand = opened(folder)
    sheet = paced(at_hand, pacing_of(folder, at_hand.log))
    made = preview_line(sheet, line) if line is not None else preview_cut(sheet, cut or 0)
    note(made.says)
    answers().print(plain(str(made.path)))
