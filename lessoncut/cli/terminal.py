"""The terminal: what goes to it, how far the work is, and how an error looks.

Answers go to standard output, everything else to standard error. Nothing is told by colour alone.
"""

from __future__ import annotations

import json
import re
import sys
import time
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from rich.console import Console
from rich.progress import BarColumn, Progress, TaskID, TaskProgressColumn, TextColumn, TimeRemainingColumn
from rich.text import Text

from lessoncut import __version__, files
from lessoncut.errors import LessoncutError, LessonFolderError
from lessoncut.store import LessonFolder
from lessoncut.times import clock
from lessoncut.workflow.records import Stages

NARROWEST_PIPE = 120
"""Columns for tables that go to a file or another program, which have no width of their own."""

_UNPRINTABLE = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff]")
_EVERY_S = 5.0


def answers() -> Console:
    """Where answers are printed."""
    return _console(stderr=False)


def remarks() -> Console:
    """Where progress, notes and errors are printed."""
    return _console(stderr=True)


def _console(*, stderr: bool) -> Console:
    console = Console(stderr=stderr, highlight=False, markup=False, emoji=False)
    if not console.is_terminal:
        console.width = max(console.width, NARROWEST_PIPE)
    return console


def plain(text: str, style: str = "") -> Text:
    """Text of the user's, safe to print: a script may hold what a terminal would obey."""
    return Text(_UNPRINTABLE.sub("\N{REPLACEMENT CHARACTER}", text), style=style)


def print_json(value: Any) -> None:
    """An answer for other programs: JSON in plain ASCII, so that no terminal or encoding changes it."""
    sys.stdout.write(json.dumps(value, indent=1, allow_nan=False) + "\n")


def counted(count: int, noun: str) -> str:
    """``1 lesson``, ``2 lessons``."""
    return f"{count} {noun}{'' if count == 1 else 's'}"


def note(sentence: str) -> None:
    """A sentence beside the answer."""
    remarks().print(plain(sentence))


def show_error(error: LessoncutError) -> None:
    """What went wrong, where, and what to try."""
    remarks().print(plain(f"lessoncut: {error}"))


def show_failure(error: BaseException, lesson: Path | None, *, debug: bool) -> None:
    """A fault of ours: a short word here, the whole story in the lesson folder or, with ``debug``, here as well."""
    story = f"lessoncut {__version__}, Python {sys.version}\n" + "".join(traceback.format_exception(error))
    says = [f"lessoncut: something went wrong that should not: {type(error).__name__}: {error}"]
    if debug:
        says.append(story)
    elif lesson and (place := _kept_story(story, lesson)):
        says.append(f"  The details are in {place}.")
    else:
        says.append("  The details: run the same command as `lessoncut --debug ...`.")
    says.append("  Your decisions are safe. Please report this with those details and how the take was made.")
    note("\n".join(says))


def _kept_story(story: str, lesson: Path) -> str | None:
    try:
        place = LessonFolder(lesson).report_path()
        files.write_whole(place, story.encode("utf-8", "replace"))
    except LessonFolderError:
        return None
    return str(place)


@contextmanager
def showing_progress() -> Iterator[Stages]:
    """A bar with the time left; where there is no terminal, a line every few seconds."""
    console = remarks()
    if not console.is_terminal:
        yield lambda name: _Lines(name, console)
        return
    columns = (TextColumn("{task.description}"), BarColumn(), TaskProgressColumn(), TimeRemainingColumn(compact=True))
    with Progress(*columns, console=console, transient=True) as bars:
        yield lambda name: _Bar(bars, bars.add_task(name, total=1.0))


class _Bar:
    def __init__(self, bars: Progress, task: TaskID) -> None:
        self._bars = bars
        self._task = task

    def __call__(self, done: float) -> None:
        self._bars.update(self._task, completed=done)


class _Lines:
    def __init__(self, name: str, console: Console, now: Callable[[], float] = time.monotonic) -> None:
        self._name = name
        self._console = console
        self._now = now
        self._began_s = self._told_s = now()
        console.print(plain(name))

    def __call__(self, done: float) -> None:
        now_s = self._now()
        if now_s - self._told_s < _EVERY_S or not 0 < done < 1:
            return
        self._told_s = now_s
        left_ms = round((now_s - self._began_s) * (1 - done) / done * 1000)
        self._console.print(plain(f"{self._name}: {done:.0%}, about {clock(left_ms)} left"))
