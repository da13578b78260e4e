"""What the teacher is asked to decide."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from lessoncut.times import Span

FindingKind = Literal["repeated_line", "false_start", "dropped_line", "misread", "ad_lib", "stray_text", "stray_sound"]


@dataclass(frozen=True)
class Choice:
    """One way to settle a finding. ``name`` is what is stored; ``says`` is the sentence beside it.

    ``reading_id`` is the reading this choice would keep, where it is about one.
    """

    name: str
    says: str
    reading_id: str | None = None


@dataclass(frozen=True)
class Evidence:
    """One observed fact behind a finding: ``name`` in plain words, ``value`` with its unit."""

    name: str
    value: str


@dataclass(frozen=True)
class Finding:
    """Something for the teacher to decide. The first choice is the suggested one, and holds until she decides.

    ``id`` is ``F01``, ``F02``... in the order of the take. ``confidence`` is calibrated, 0 to 1.
    """

    id: str
    kind: FindingKind
    line_id: str | None
    pass_id: str | None
    span: Span
    confidence: float
    says: str
    evidence: tuple[Evidence, ...]
    choices: tuple[Choice, ...]
