"""What a finding rule is.

How to add a finding kind:

1. Add its name to ``FindingKind`` in ``records.py``.
2. Write a module in this folder named after the kind, with a function ``find(scene) -> Iterator[Seen]``.
3. Nothing else: ``find`` in this package calls every module that has such a function.
"""

from __future__ import annotations

from dataclasses import dataclass

from lessoncut.hearing.records import Hearing
from lessoncut.matching.findings.records import Choice, Evidence, FindingKind
from lessoncut.matching.records import Aside, Match, Pass, Reading
from lessoncut.script.records import Line, Script
from lessoncut.times import Span

LEAST_UNREAD_MS = 2000
"""Of 18 stretches of speech in which nothing could be read, none of which was longer, 15 were a laugh, a cough or a
chair in 112 takes of known truth, and none was talk."""


@dataclass(frozen=True)
class Scene:
    """All that a rule may look at."""

    script: Script
    hearing: Hearing
    match: Match

    def pass_name(self, pass_id: str | None) -> str:
        """The pass in words: "the model reading", "the repeat pass", "the second repeat pass"."""
        if pass_id is None:
            return "the script"
        which = next(item for item in self.match.passes if item.id == pass_id)
        alike = [item for item in self.match.passes if item.kind == which.kind]
        name = "model reading" if which.kind == "model" else "repeat pass"
        if len(alike) == 1:
            return f"the {name}"
        ordinals = ("first", "second", "third", "fourth", "fifth")
        at = alike.index(which)
        return f"the {ordinals[at]} {name}" if at < len(ordinals) else f"{name} {at + 1}"

    def other_passes(self, pass_id: str) -> tuple[Pass, ...]:
        return tuple(item for item in self.match.passes if item.id != pass_id)

    def line(self, reading: Reading) -> Line:
        return self.script.line(reading.line_id)


@dataclass(frozen=True)
class Seen:
    """A finding before it has its number."""

    kind: FindingKind
    line_id: str | None
    pass_id: str | None
    span: Span
    confidence: float
    says: str
    evidence: tuple[Evidence, ...]
    choices: tuple[Choice, ...]


def is_noise(aside: Aside) -> bool:
    """Without a word in it, unless it is long, it is a laugh, a door or a chair that only looked like speech."""
    return not aside.words and aside.span.length_ms < LEAST_UNREAD_MS


def quoted(text: str, most: int = 60) -> str:
    """The line in quotation marks, cut at a word when it is long."""
    if len(text) <= most:
        return f"“{text}”"
    return f"“{text[:most].rsplit(' ', 1)[0]}…”"
