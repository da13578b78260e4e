"""``export`` and ``outputs``."""

from __future__ import annotations

import re
from collections.abc import Sequence
from enum import Enum
from pathlib import Path
from typing import Annotated

import typer

from lessoncut.cli.options import AsJson, Lesson, open_folder
from lessoncut.cli.tables import table
from lessoncut.cli.teaching import (
    Address,
    Bars,
    Ipa,
    Linking,
    Melody,
    OnPaper,
    Room,
    Slow,
    YourTurn,
    choices_from,
)
from lessoncut.cli.terminal import answers, note, print_json, showing_progress
from lessoncut.errors import ChoiceError
from lessoncut.outputs import all_outputs
from lessoncut.outputs.base import NotPossible
from lessoncut.render.cover import read_cover
from lessoncut.render.records import Loudness, Wishes
from lessoncut.store import LessonFolder
from lessoncut.workflow.cover import forget_cover, remember_cover
from lessoncut.workflow.export import Exported, wanted
from lessoncut.workflow.export import export as write_outputs
from lessoncut.workflow.lesson import paced, pacing_of
from lessoncut.workflow.opened import opened
from lessoncut.workflow.studying import (
    Targets,
    choices_of,
    remember_choices,
    remember_targets,
    study_for,
    targets_of,
)

QUIETEST_LUFS, LOUDEST_LUFS = -40.0, -5.0
_FIGURE = re.compile(r"-?\d+(\.\d+)?")


class On(Enum):
    """Whose clock the times are on."""

    LESSON = "lesson"
    TAKE = "take"


Only = Annotated[
    list[str] | None, typer.Option("--only", metavar="NAME", help="Just this output; may be given several times.")
]
Sounds = Annotated[
    str | None,
    typer.Option("--sounds", metavar="NAMES", help="The lesson's target sounds, such as v/w or θ; kept for next time."),
]
Loud = Annotated[
    str, typer.Option("--loudness", metavar="LUFS", help="-16 for stereo and -19 for mono unless told; off leaves it.")
]
HighPass = Annotated[bool, typer.Option("--high-pass", help="Take rumble away from the sound, under 80 Hz.")]
Prompt = Annotated[
    bool, typer.Option("--prompt", help="Draw each line and the seconds left into the picture of its gap.")
]
WithModel = Annotated[bool, typer.Option("--with-model", help="Begin the practice tracks with the model reading.")]
Cover = Annotated[
    Path | None,
    typer.Option(
        "--cover",
        metavar="FILE",
        help="A JPEG or PNG picture for the practice tracks; kept for next time, and the word none takes it away.",
    ),
]
Clock = Annotated[On, typer.Option("--on", help="Times of the finished lesson, or of the raw take.")]


def export(
    lesson: Lesson,
    only: Only = None,
    on: Clock = On.LESSON,
    sounds: Sounds = None,
    loudness: Loud = "standard",
    high_pass: HighPass = False,
    prompt: Prompt = False,
    with_model: WithModel = False,
    cover: Cover = None,
    paper: OnPaper = None,
    ipa: Ipa = None,
    melody: Melody = None,
    bars: Bars = None,
    linking: Linking = None,
    room: Room = None,
    url: Address = None,
    your_turn: YourTurn = None,
    slow: Slow = None,
    as_json: AsJson = False,
) -> None:
    """Write the finished files: chapters, captions, gap sheet and whatever else `outputs` lists.

    What is chosen for the handout, the captions that teach, the practice pack and the tracks' picture is kept for next
    time. What a file had to leave out, such as the stress in a language without a pronouncing dictionary, is told.
    """
    folder = open_folder(lesson)
    asked_for = wanted(only or ())
    wishes = Wishes(_loudness(loudness), high_pass, prompt, with_model)
    at_hand = opened(folder)
    for sentence in at_hand.notes:
        note(sentence)
    before = choices_of(folder, at_hand.log)
    choices = choices_from(before, paper, ipa, melody, bars, linking, room, url, your_turn, slow)
    targets = targets_of(folder, at_hand.log) if sounds is None else Targets(sounds)
    sheet = paced(at_hand, pacing_of(folder, at_hand.log))
    if cover is not None:
        _keep_cover(folder, cover)
    with showing_progress() as stages:
        study = study_for(asked_for, at_hand, targets, stages)
        if sounds is not None:
            remember_targets(folder, targets)
        if choices != before:
            remember_choices(folder, choices)
        done = write_outputs(sheet, study, asked_for, on.value, stages, wishes, choices)
    if as_json:
        print_json({"schema": "lessoncut.exports/1", "outputs": [_plainly(one) for one in done]})
    else:
        print_exports(done)
    if only and all(one.path is None for one in done):
        raise NotPossible("nothing could be written", where=str(lesson))


def outputs(as_json: AsJson = False) -> None:
    """List what `export` can make."""
    if as_json:
        listed = [{"name": one.name, "file": one.file_name("lesson"), "says": one.says} for one in all_outputs()]
        print_json({"schema": "lessoncut.outputs/1", "outputs": listed})
        return
    answers().print(
        table(["Output", "File", "What it is for"], ([o.name, o.file_name("lesson"), o.says] for o in all_outputs()))
    )


def print_exports(done: Sequence[Exported]) -> None:
    answers().print(table(["Output", "File"], ([one.output.name, str(one.path or one.why_not)] for one in done)))
    for sentence, names in told_once(done).items():
        note(f"{', '.join(names)}: {sentence}")


def told_once(done: Sequence[Exported]) -> dict[str, list[str]]:
    """Each remark with the outputs that it is about; where several differ in their figures alone, the first's."""
    firsts: dict[str, str] = {}
    names: dict[str, list[str]] = {}
    for one in done:
        for sentence in one.remarks:
            first = firsts.setdefault(_FIGURE.sub("", sentence), sentence)
            names.setdefault(first, []).append(one.output.name)
    return names


def _keep_cover(folder: LessonFolder, cover: Path) -> None:
    if str(cover) == "none":
        forget_cover(folder)
        return
    remember_cover(folder, cover.name, read_cover(cover))


def _loudness(told: str) -> Loudness:
    if told in ("standard", "off"):
        return "standard" if told == "standard" else "off"
    try:
        lufs = float(told)
    except ValueError:
        lufs = 0.0
    if not QUIETEST_LUFS <= lufs <= LOUDEST_LUFS:
        raise ChoiceError(
            f"{told!r} is no loudness", hint=f"off, or LUFS from {QUIETEST_LUFS:g} to {LOUDEST_LUFS:g}, such as -16"
        )
    return lufs


def _plainly(one: Exported) -> dict[str, object]:
    path = str(one.path) if one.path else None
    return {"name": one.output.name, "path": path, "why_not": one.why_not, "remarks": list(one.remarks)}
