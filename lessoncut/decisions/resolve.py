"""Find every standing decision again in an analysis; what is not found is stale."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from lessoncut.decisions import subjects
from lessoncut.decisions.log import fault_of
from lessoncut.decisions.records import Applied, Decision, Resolved, Settled, Stale, SubjectKind
from lessoncut.matching.findings.records import Finding
from lessoncut.matching.records import Match
from lessoncut.script.records import Script


def resolve(decisions: Sequence[Decision], script: Script, match: Match, findings: Sequence[Finding]) -> Resolved:
    """``decisions`` are those that hold (see ``Log.current``). Of two about the same thing the later one counts."""
    scene = _Scene(script, match, tuple(findings))
    same = _refound(scene, decisions)
    applied: list[Applied] = []
    stale: list[Stale] = []
    for decision in sorted(decisions, key=lambda item: item.number):
        found = _applied(scene, decision, same)
        if isinstance(found, Stale):
            stale.append(found)
        elif found is not None:
            applied.append(found)
    latest = {item.finding.id: item.decision for item in applied if item.finding}
    settled = tuple(
        Settled(finding, latest[finding.id].choice, latest[finding.id])
        if finding.id in latest
        else Settled(finding, finding.choices[0].name, None)
        for finding in findings
    )
    holds = tuple(item for item in applied if not item.finding or latest[item.finding.id] is item.decision)
    return Resolved(settled, holds, tuple(stale))


@dataclass(frozen=True)
class _Scene:
    script: Script
    match: Match
    findings: tuple[Finding, ...]


def _refound(scene: _Scene, decisions: Sequence[Decision]) -> dict[int, Finding]:
    """Decision number to finding. A finding that a decision overlaps is not given to one that is only near it."""
    found: dict[int, Finding] = {}
    about = [item for item in decisions if item.subject.kind == "finding" and item.subject.span]
    for decision in about:
        finding = _finding(scene, decision, scene.findings)
        if finding and decision.subject.span and finding.span.overlap_ms(decision.subject.span):
            found[decision.number] = finding
    taken = {finding.id for finding in found.values()}
    free = tuple(finding for finding in scene.findings if finding.id not in taken)
    for decision in about:
        if decision.number not in found:
            finding = _finding(scene, decision, free)
            if finding:
                found[decision.number] = finding
    return found


def _finding(scene: _Scene, decision: Decision, findings: Sequence[Finding]) -> Finding | None:
    subject = decision.subject
    assert subject.span
    line_id = subjects.line_of(scene.script, subject.line) if subject.line else None
    if subject.line and line_id is None:
        return None
    pass_id = subjects.pass_of(scene.match, subject.pass_key) if subject.pass_key else None
    alike = [item for item in findings if item.kind == subject.finding and item.line_id == line_id]
    same_pass = [item for item in alike if item.pass_id == pass_id]
    return subjects.nearest(same_pass, subject.span, lambda item: item.span) or subjects.nearest(
        alike, subject.span, lambda item: item.span
    )


def _applied(scene: _Scene, decision: Decision, same: dict[int, Finding]) -> Applied | Stale | None:
    """None for a decision that has been fulfilled and says nothing any more."""
    fault = fault_of(decision)
    if fault:
        return Stale(decision, fault)
    subject = decision.subject
    here = Applied(decision)
    if subject.line:
        line_id = subjects.line_of(scene.script, subject.line)
        if line_id is None:
            return Stale(decision, "the script no longer has this line")
        here = replace(here, line_id=line_id)
    if subject.pass_key and subject.kind != "finding":
        pass_id = subjects.pass_of(scene.match, subject.pass_key)
        if pass_id is None:
            return Stale(decision, "the take no longer has this pass")
        here = replace(here, pass_id=pass_id)
    if subject.kind == "finding":
        return _finding_applied(scene, here, same.get(decision.number))
    by_kind = _BY_KIND.get(subject.kind)
    return by_kind(scene, here) if by_kind else here


def _finding_applied(scene: _Scene, here: Applied, finding: Finding | None) -> Applied | Stale | None:
    decision = here.decision
    if finding is None:
        return None if _picked_up(scene, here) else Stale(decision, "nothing like it was found this time")
    if decision.choice not in (choice.name for choice in finding.choices):
        return Stale(decision, f"'{decision.choice}' is no longer among its choices")
    here = replace(here, finding=finding, line_id=finding.line_id, pass_id=finding.pass_id)
    if decision.reading and finding.line_id:
        reading = subjects.reading_near(scene.match, finding.line_id, decision.reading)
        here = replace(here, reading_id=reading.id if reading else None)
    return here


def _picked_up(scene: _Scene, here: Applied) -> bool:
    """Whether the line that was to be recorded later is there now."""
    if here.decision.choice != "pick_up" or here.line_id is None:
        return False
    key = here.decision.subject.pass_key
    pass_id = subjects.pass_of(scene.match, key) if key else None
    return scene.match.kept(here.line_id, pass_id) is not None


def _slot(scene: _Scene, here: Applied) -> Applied | Stale:
    if here.decision.choice == "leave_out":
        return here
    return _with_reading(scene, here)


def _edge(scene: _Scene, here: Applied) -> Applied | Stale:
    found = _with_reading(scene, here)
    if isinstance(found, Stale) or found.decision.choice == "reset":
        return found
    reading = next(item for item in scene.match.readings if item.id == found.reading_id)
    at_ms = found.decision.value
    assert isinstance(at_ms, int)
    before = found.decision.subject.edge == "start"
    if (at_ms >= reading.span.middle_ms) if before else (at_ms <= reading.span.middle_ms):
        return Stale(found.decision, "this edge would pass the middle of the reading")
    return found


def _with_reading(scene: _Scene, here: Applied) -> Applied | Stale:
    at = here.decision.reading or here.decision.subject.span
    assert here.line_id and at
    reading = subjects.reading_near(scene.match, here.line_id, at)
    if reading is None:
        return Stale(here.decision, "the line is no longer read there")
    return replace(here, reading_id=reading.id)


def _chapter(scene: _Scene, here: Applied) -> Applied | Stale:
    key = here.decision.subject.section
    if key is None:
        return here
    section = subjects.section_of(scene.script, key)
    if section is None:
        return Stale(here.decision, "the script no longer has this section")
    return replace(here, section=section)


def _aside(scene: _Scene, here: Applied) -> Applied | Stale:
    at = here.decision.subject.span
    assert at
    aside = subjects.nearest(scene.match.asides, at, lambda item: item.span)
    if aside is None:
        return Stale(here.decision, "nothing outside the script is said there any more")
    return replace(here, aside=aside.span)


_BY_KIND: dict[SubjectKind, Callable[[_Scene, Applied], Applied | Stale]] = {
    "slot": _slot,
    "edge": _edge,
    "caption": _with_reading,
    "chapter": _chapter,
    "aside": _aside,
}
