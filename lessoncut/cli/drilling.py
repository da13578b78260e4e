"""``sounds``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lessoncut.cli.options import AsJson
from lessoncut.cli.tables import table
from lessoncut.cli.terminal import answers, note, plain, print_json
from lessoncut.codec import encode
from lessoncut.teaching.sounds import coverage_told, places_told, shown
from lessoncut.workflow.drilling import drilled

ScriptFile = Annotated[Path, typer.Argument(metavar="SCRIPT", help="The script, in English.")]
Names = Annotated[str, typer.Argument(metavar="NAMES", help="The target sounds, such as v/w or θ.")]


def sounds(script: ScriptFile, names: Names, as_json: AsJson = False) -> None:
    """Say where a script has its target sounds, before it is filmed: word by word, line by line, with minimal pairs."""
    drill = drilled(script, names)
    targets = drill.targets
    if as_json:
        print_json({"schema": "lessoncut.sounds/1", **encode(targets)})
        return
    if not drill.marked:
        note("No passage is marked in the script: these are all of its lines.")
    columns = ["Line", "Text", *map(shown, targets.sounds)]
    rows = (
        [line.id, line.text, *(places_told(targets.places, line.id, sound) or "none" for sound in targets.sounds)]
        for line in drill.lines
    )
    answers().print(table(columns, rows))
    for coverage in targets.coverage:
        answers().print(plain(coverage_told(coverage)))
    if targets.pairs:
        pairs = ", ".join(f"{pair.first}/{pair.second}" for pair in targets.pairs)
        answers().print(plain(f"Minimal pairs: {pairs}"))
