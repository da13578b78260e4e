"""What one analysis was made from, and what came out of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from lessoncut.hearing.records import Hearing
from lessoncut.matching.findings.records import Finding
from lessoncut.matching.records import Match
from lessoncut.progress import Progress, no_progress
from lessoncut.script.records import Script
from lessoncut.store import Slot
from lessoncut.take.records import Take
from lessoncut.times import Span

Stages = Callable[[str], Progress]
"""Told when a stage begins, by name; gives the progress of that stage."""


def no_stages(name: str) -> Progress:  # noqa: ARG001 - the shape of Stages
    """For callers who do not want to know."""
    return no_progress


@dataclass(frozen=True)
class HearingSettings:
    model: str | None = None
    language: str | None = None
    device: str = "auto"


@dataclass(frozen=True)
class Stamp:
    """How a file looks from outside: while this holds, it is taken for the same file."""

    path: str
    size_bytes: int
    modified_ns: int


@dataclass(frozen=True)
class KnownTake:
    """A take, and how each of its files looked when it was probed."""

    take: Take
    stamps: tuple[Stamp, ...]


@dataclass(frozen=True)
class Found:
    """The whole result of one analysis; ``remarks`` are sentences for the teacher."""

    known: KnownTake
    pick_up_paths: tuple[str, ...]
    script_path: str
    script: Script
    hearing_key: str
    language: str
    engine: str
    match: Match
    findings: tuple[Finding, ...]
    remarks: tuple[str, ...]
    settings: HearingSettings = field(default_factory=HearingSettings)

    @property
    def take(self) -> Take:
        return self.known.take

    @property
    def pick_ups(self) -> tuple[Span, ...]:
        """Where the pick-up files stand in take time."""
        files = zip(self.take.files, self.take.spans, strict=True)
        return tuple(span for file, span in files if file.path in self.pick_up_paths)


TAKE = Slot("take", KnownTake)
HEARING = Slot("hearing", Hearing)
FOUND = Slot("found", Found)
