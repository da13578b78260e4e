"""``analyze``, ``draft-script`` and ``demo``."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from lessoncut.cli.exporting import print_exports
from lessoncut.cli.looking import print_analysis, print_findings, print_gaps, print_sheet
from lessoncut.cli.options import AsJson, Device, Language, Model
from lessoncut.cli.running import session
from lessoncut.cli.tables import captions_table, chapters_table
from lessoncut.cli.terminal import answers, note, plain, showing_progress
from lessoncut.errors import ChoiceError
from lessoncut.outputs import all_outputs
from lessoncut.script.formats import script_formats
from lessoncut.workflow.analyze import Request
from lessoncut.workflow.analyze import analyze as run_analysis
from lessoncut.workflow.demo import copy_sample
from lessoncut.workflow.drafting import write_draft
from lessoncut.workflow.export import export
from lessoncut.workflow.lesson import paced, pacing_of
from lessoncut.workflow.opened import Opened
from lessoncut.workflow.records import HearingSettings
from lessoncut.workflow.studying import Targets, studied

DEMO_CAPTIONS = 8
DEMO_SOUNDS = "v/w"

Inputs = Annotated[
    list[Path],
    typer.Argument(
        metavar="TAKE... SCRIPT", help="The recordings in their order, and last the script.", readable=False
    ),
]
Into = Annotated[
    Path, typer.Option("--lesson", metavar="DIR", help="The lesson folder; made where it is missing.", readable=False)
]
Takes = Annotated[list[Path], typer.Argument(metavar="TAKE...", help="The recordings in their order.", readable=False)]
To = Annotated[
    Path | None,
    typer.Option("--to", metavar="FILE", help="Where to write it, never over another file; else the take's name.md."),
]
KeptIn = Annotated[
    Path | None,
    typer.Option("--lesson", metavar="DIR", help="Keep what was heard here, for the same take's analysis."),
]
DemoFolder = Annotated[Path, typer.Option("--into", metavar="DIR", help="Where to put the sample and its lesson.")]


def analyze(
    inputs: Inputs,
    lesson: Into,
    model: Model = None,
    language: Language = None,
    device: Device = "auto",
    as_json: AsJson = False,
) -> None:
    """Hear the take, follow the script through it, and say what the teacher has to decide."""
    if len(inputs) < 2:
        raise ChoiceError(
            "a recording and a script are needed", hint="lessoncut analyze take.mp4 script.md --lesson monday"
        )
    _check_order(inputs)
    at_hand = _analyzed(inputs[:-1], inputs[-1], lesson, HearingSettings(model, language, device))
    if as_json:
        print_analysis(at_hand)
        return
    print_findings(at_hand)
    note(f"\nThe line sheet: lessoncut show {lesson}\nFor other programs: {at_hand.folder.analysis_path}")


def _check_order(inputs: Sequence[Path]) -> None:
    """Raises ChoiceError where a script stands among the recordings, and a recording in its place."""
    endings = {ending for format_ in script_formats() for ending in format_.suffixes if ending}
    scripts = [one for one in inputs[:-1] if one.suffix.lower() in endings]
    if scripts and inputs[-1].suffix.lower() not in endings:
        raise ChoiceError(
            f"the script comes last, but stands before {inputs[-1]}",
            where=str(scripts[0]),
            hint="lessoncut analyze take.mp4 script.md --lesson monday",
        )


def draft_script(
    takes: Takes,
    to: To = None,
    lesson: KeptIn = None,
    model: Model = None,
    language: Language = None,
    device: Device = "auto",
) -> None:
    """Write a first script from the take itself, to be corrected by hand."""
    script = to or Path(takes[0].stem + ".md")
    with showing_progress() as stages:
        write_draft(tuple(takes), script, lesson, HearingSettings(model, language, device), stages)
    answers().print(plain(f"{script}: read it through, correct it, then analyze with it."))


def demo(into: DemoFolder = Path("lessoncut-demo")) -> None:
    """Do the whole job on the packaged sample lesson."""
    sample = copy_sample(into)
    at_hand = _analyzed([sample.take], sample.script, sample.lesson, HearingSettings())
    print_sheet(at_hand)
    print_findings(at_hand)
    sheet = paced(at_hand, pacing_of(at_hand.folder, at_hand.log))
    answers().print(plain("\nGap sheet", style="bold"))
    print_gaps(sheet)
    programme = sheet.on_lesson
    answers().print(plain("\nChapters", style="bold"), chapters_table(programme))
    answers().print(plain("\nCaptions", style="bold"), captions_table(programme, most=DEMO_CAPTIONS))
    with showing_progress() as stages:
        study = studied(at_hand, Targets(DEMO_SOUNDS), stages)
        exported = export(sheet, study, all_outputs(), stages=stages)
    answers().print(plain("\nExported", style="bold"))
    print_exports(exported)
    answers().print(plain(f"\nThe take and its script: {sample.take}, {sample.script}\nThe lesson: {sample.lesson}"))


def _analyzed(takes: list[Path], script: Path, lesson: Path, settings: HearingSettings) -> Opened:
    session.lesson = lesson
    with showing_progress() as stages:
        return run_analysis(Request(tuple(takes), script, settings), lesson, stages)
