"""Findings: what the teacher is asked to decide. One module a kind; see ``rule`` for how to add one."""

from __future__ import annotations

import pkgutil
from collections.abc import Callable, Iterator
from importlib import import_module

from lessoncut.hearing.records import Hearing
from lessoncut.matching.findings.records import Choice, Evidence, Finding, FindingKind
from lessoncut.matching.findings.rule import Scene, Seen
from lessoncut.matching.records import Match
from lessoncut.script.records import Script

__all__ = ["Choice", "Evidence", "Finding", "FindingKind", "find"]


def find(script: Script, hearing: Hearing, match: Match) -> tuple[Finding, ...]:
    """Every finding in the order of the take, numbered ``F01``, ``F02``..."""
    scene = Scene(script, hearing, match)
    seen = sorted((item for rule in _rules() for item in rule(scene)), key=lambda item: (item.span, item.kind))
    return tuple(
        Finding(
            id=f"F{number:02d}",
            kind=item.kind,
            line_id=item.line_id,
            pass_id=item.pass_id,
            span=item.span,
            confidence=item.confidence,
            says=item.says,
            evidence=item.evidence,
            choices=item.choices,
        )
        for number, item in enumerate(seen, start=1)
    )


def _rules() -> list[Callable[[Scene], Iterator[Seen]]]:
    modules = (import_module(f"{__name__}.{found.name}") for found in pkgutil.iter_modules(__path__))
    return [module.find for module in modules if hasattr(module, "find")]
