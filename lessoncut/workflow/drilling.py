"""Whether a script drills its target sounds, before anybody has filmed it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from lessoncut.script.read import read_script
from lessoncut.script.records import Line
from lessoncut.teaching.records import Targets


@dataclass(frozen=True)
class Drill:
    """``lines`` are the passage's; all of the script's where no passage is ``marked``."""

    lines: tuple[Line, ...]
    marked: bool
    targets: Targets


def drilled(path: Path, sounds: str) -> Drill:
    """The sounds named, as ``--sounds`` takes them, in a script in English. Raises ScriptError, ChoiceError."""
    from lessoncut.hearing.commonness import commonness  # these are slow to import
    from lessoncut.teaching.sounds import targets
    from lessoncut.teaching.stress_rule import stress

    script = read_script(path)
    lines = script.passage or script.lines
    wanted = {line.id for line in lines}
    rules = [rule for rule in stress(script.lines) if rule.line_id in wanted]
    return Drill(lines, bool(script.passage), targets(rules, sounds, commonness))
