"""``batch``."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

import typer
from rich.console import Console
from rich.progress import BarColumn, Progress, TaskID, TaskProgressColumn, TextColumn

from lessoncut import codec, files
from lessoncut.cli.options import AsJson, Device, Language, Model
from lessoncut.cli.tables import table
from lessoncut.cli.terminal import answers, counted, note, plain, print_json, remarks
from lessoncut.errors import ChoiceError, InputError, ToolError
from lessoncut.outputs import all_outputs
from lessoncut.times import clock
from lessoncut.workflow.batch import Job, Outcome, do_lesson, jobs_of
from lessoncut.workflow.pairs import Pairs, is_recording, pairs_in
from lessoncut.workflow.records import HearingSettings

Folder = Annotated[Path, typer.Argument(metavar="FOLDER", help="Where the takes and their scripts are.")]
Lessons = Annotated[
    Path | None,
    typer.Option("--lessons", metavar="DIR", help="Where the lesson folders belong; else FOLDER/lessons."),
]
Export = Annotated[bool, typer.Option("--export", help="Export every lesson, too: all that `outputs` lists.")]
Only = Annotated[
    list[str] | None,
    typer.Option("--only", metavar="NAME", help="Export just this output; may be given several times."),
]
Workers = Annotated[
    int | None,
    typer.Option(
        "--workers", metavar="NUMBER", help="How many lessons at once on this machine; else one a core.", min=1
    ),
]
Scheduler = Annotated[
    str | None,
    typer.Option(
        "--scheduler",
        metavar="ADDRESS",
        help="The dask scheduler of a cluster, such as tcp://host:8786, instead of workers on this machine. "
        "Its workers need this lessoncut and the same folders under the same names.",
    ),
]


def batch(
    folder: Folder,
    lessons: Lessons = None,
    export: Export = False,
    only: Only = None,
    workers: Workers = None,
    scheduler: Scheduler = None,
    model: Model = None,
    language: Language = None,
    device: Device = "auto",
    as_json: AsJson = False,
) -> None:
    """Work through a folder of takes and scripts, several lessons at once.

    monday.mp4 and monday.md are a lesson; a folder with one script and no such two is one lesson, its recordings in
    the order of their names. What holds from an earlier run is not done again, and a broken lesson stops no other.
    """
    from lessoncut.workflow.crew import crew, work_through  # noqa: PLC0415 - slow to import, and an extra

    home = lessons or folder / "lessons"
    pairs = pairs_in(folder)
    names = only or ([kind.name for kind in all_outputs()] if export else [])
    jobs = jobs_of(pairs, home, HearingSettings(model, language, device), names)
    for one in pairs.left_over:
        note(f"Left out: {one.path}: {one.why}.")
    if not jobs:
        raise ChoiceError(
            "no take with its script is here", where=str(folder), hint="give both the same name: monday.mp4, monday.md"
        )
    outcomes: list[Outcome] = []
    with crew(workers, scheduler) as client, _telling(jobs) as shown:
        for outcome in work_through(client, jobs, do_lesson, shown.moved):
            shown.ended(outcome)
            outcomes.append(outcome)
    outcomes.sort(key=lambda outcome: outcome.name)
    _report(outcomes, pairs, home, as_json)
    if code := _exit_code(outcomes, pairs):
        raise typer.Exit(code)


def _report(outcomes: Sequence[Outcome], pairs: Pairs, home: Path, as_json: bool) -> None:
    """The table or JSON, and JSON in the folder of the lessons."""
    report = {
        "schema": "lessoncut.batch/1",
        "lessons": [{**codec.encode(one), "lesson": str(one.lesson)} for one in outcomes],
        "left_over": [{"path": str(one.path), "why": one.why} for one in pairs.left_over],
    }
    place = home / "batch.json"
    try:
        home.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise files.cannot_write(home, error) from error
    files.write_whole(place, codec.dumps(report).encode("utf-8", "backslashreplace"))
    if as_json:
        print_json(report)
        return
    heads = ["Lesson", "", "Take", "Lines", "Findings", "Open", "Files", "What to know"]
    answers().print(table(heads, map(_row, outcomes), right=["Take", "Lines", "Findings", "Open", "Files"]))
    failed = sum(one.state == "failed" for one in outcomes)
    answers().print(plain(f"{counted(len(outcomes), 'lesson')}, {failed} failed. For other programs: {place}"))


def _row(one: Outcome) -> list[str]:
    counts = [clock(round(one.take_s * 1000)), *map(str, (one.lines, one.findings, one.open_findings))]
    shown = [""] * 4 if one.state == "failed" else counts
    return [one.name, one.state, *shown, str(len(one.exported) or ""), "\n".join(one.says)]


def _exit_code(outcomes: Sequence[Outcome], pairs: Pairs) -> int:
    """0 when every recording's lesson is there; else of the gravest trouble: ours, the installation's, the input's.

    A script without a recording is no trouble: it may be a letter.
    """
    codes = {outcome.code for outcome in outcomes}
    if any(is_recording(one.path) for one in pairs.left_over):
        codes.add(InputError.exit_code)
    return next((code for code in (1, ToolError.exit_code, InputError.exit_code, *sorted(codes)) if code in codes), 0)


@contextmanager
def _telling(jobs: Sequence[Job]) -> Iterator[_Bars | _Lines]:
    """Bars, or lines where no terminal is."""
    console = remarks()
    if not console.is_terminal:
        yield _Lines(console, len(jobs))
        return
    columns = (TextColumn("{task.description}", markup=False), BarColumn(), TaskProgressColumn())
    with Progress(*columns, console=console, transient=True) as bars:
        yield _Bars(bars, len(jobs))


class _Lines:
    def __init__(self, console: Console, jobs: int) -> None:
        self._console = console
        self._jobs = jobs
        self._ended = 0
        self._stages: dict[str, str] = {}

    def moved(self, name: str, stage: str, done: float) -> None:  # noqa: ARG002 - bars show it
        """A lesson has come a little further. Called from another thread than ``ended``."""
        if self._stages.get(name) != stage:
            self._stages[name] = stage
            self._console.print(plain(f"{name}: {stage}"))

    def ended(self, outcome: Outcome) -> None:
        """A lesson is through, well or not."""
        self._ended += 1
        says = outcome.says[0].splitlines()[0] if outcome.state == "failed" else f"{outcome.open_findings} to decide"
        self._console.print(plain(f"{self._ended} of {self._jobs}  {outcome.name}: {outcome.state} ({says})"))


class _Bars(_Lines):
    def __init__(self, bars: Progress, jobs: int) -> None:
        super().__init__(bars.console, jobs)
        self._bars = bars
        self._whole = bars.add_task("All lessons", total=float(jobs))
        self._running: dict[str, TaskID] = {}
        self._over: set[str] = set()

    def moved(self, name: str, stage: str, done: float) -> None:
        if name in self._over:  # the word came later than the outcome
            return
        if name not in self._running:
            self._running[name] = self._bars.add_task(name, total=1.0)
        self._bars.update(self._running[name], description=plain(f"{name}: {stage}").plain, completed=done)

    def ended(self, outcome: Outcome) -> None:
        self._over.add(outcome.name)
        if outcome.name in self._running:
            self._bars.remove_task(self._running.pop(outcome.name))
        super().ended(outcome)
        self._bars.update(self._whole, advance=1.0)
