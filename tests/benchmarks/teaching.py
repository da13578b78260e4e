"""What everything for learners costs once a take is analysed, with every option on."""

from __future__ import annotations

import shutil
import textwrap
from pathlib import Path
from typing import Any

from lessoncut.outputs import all_outputs
from tests.benchmarks.measuring import cost_of
from tests.benchmarks.takes import made_take

MINUTES = 10
MOST = 0.2
EVERY_OPTION = (
    *("--sounds", "v/w", "--paper", "letter", "--ipa", "--melody", "--bars", "--linking", "--room", "--slow"),
    *("--with-model", "--url", "https://example.org/ferry"),
)
_OF_PRACTICE = "practice-"


def taught() -> tuple[str, ...]:
    """The outputs made of what was measured of the readings, and the practice tracks."""
    return tuple(kind.name for kind in all_outputs() if kind.of_study or kind.name.startswith(_OF_PRACTICE))


def measure(folder: Path) -> dict[str, Any]:
    take = made_take(folder, MINUTES)
    lesson, again = folder / "lesson", folder / "again"
    cost_of(["-m", "lessoncut", "analyze", take.take, take.script, "--lesson", lesson])
    shutil.copytree(lesson, again)
    only = [word for name in taught() for word in ("--only", name)]
    ours = cost_of(["-m", "lessoncut", "export", lesson, *EVERY_OPTION, *only])
    everything = cost_of(["-m", "lessoncut", "export", again, *EVERY_OPTION])
    return {
        "take_s": round(take.duration_s),
        "outputs": taught(),
        "taught_cpu_s": round(ours.cpu_s, 1),
        "taught_peak_mb": round(ours.peak_mb),
        "everything_cpu_s": round(everything.cpu_s, 1),
        "everything_peak_mb": round(everything.peak_mb),
    }


def page(found: dict[str, Any]) -> str:
    names = found["outputs"]
    rows = [
        (f"the {len(names)} below", found["taught_cpu_s"], found["taught_peak_mb"]),
        ("all that it can make", found["everything_cpu_s"], found["everything_peak_mb"]),
    ]
    table = "\n".join(f"| {what} | {cpu_s} | {cpu_s / found['take_s']:.1%} | {mb} |" for what, cpu_s, mb in rows)
    how = (
        f"`lessoncut export` of a take of {found['take_s'] / 60:g} minutes without a picture, analysed before, with "
        "every option on: the phones are laid, the readings measured, the handout set with phonetic signs and "
        "melodies, every line cut, also slowly, and the practice tracks made with the model reading. CPU seconds of "
        "the whole processes."
    )
    wanted = f"No more than {MOST:.0%} of the take's length is wanted. The {len(names)} are "
    which = ", ".join(f"`{name}`" for name in names) + "."
    return f"""\
## What learners get

{_wrapped(how)}

| outputs | CPU s | of the take's length | peak MB |
|---|---:|---:|---:|
{table}

{_wrapped(wanted + which)}
"""


def _wrapped(sentences: str) -> str:
    return textwrap.fill(sentences, 118, break_on_hyphens=False)
