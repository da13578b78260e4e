"""Name what a decision is about, and find the named line, section, pass or reading again in another analysis."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TypeVar

from lessoncut import wording
from lessoncut.decisions.records import BUILT_PASS, Edge, PassKey, Subject, TextKey
from lessoncut.matching.findings.records import Finding
from lessoncut.matching.records import Match, Reading
from lessoncut.script.records import Script
from lessoncut.times import Span

NEAR_MS = 1000
"""Things of the same kind and line this near are taken for the same."""

Thing = TypeVar("Thing")


# -- from an analysis to a subject -------------------------------------------------------------------


def about_finding(finding: Finding, script: Script, match: Match) -> Subject:
    return Subject(
        "finding",
        finding=finding.kind,
        line=line_key(script, finding.line_id) if finding.line_id else None,
        pass_key=pass_key(match, finding.pass_id),
        span=finding.span,
    )


def about_slot(line_id: str, pass_id: str | None, script: Script, match: Match) -> Subject:
    """Which reading the line has in that pass (None outside the passage)."""
    return Subject("slot", line=line_key(script, line_id), pass_key=pass_key(match, pass_id))


def about_edge(reading: Reading, edge: Edge, script: Script) -> Subject:
    return Subject("edge", line=line_key(script, reading.line_id), span=reading.span, edge=edge)


def about_caption(reading: Reading, script: Script) -> Subject:
    return Subject("caption", line=line_key(script, reading.line_id), span=reading.span)


def about_gap(line_id: str, script: Script) -> Subject:
    return Subject("gap", line=line_key(script, line_id))


def about_section(section: int, pass_id: str | None, script: Script, match: Match) -> Subject:
    """The chapter that the section makes in that pass."""
    return Subject("chapter", section=section_key(script, section), pass_key=pass_key(match, pass_id))


def about_added_chapter(line_id: str, pass_id: str | None, script: Script, match: Match) -> Subject:
    """A chapter of the teacher's that begins with that line in that pass."""
    return Subject("chapter", line=line_key(script, line_id), pass_key=pass_key(match, pass_id))


def about_aside(span: Span) -> Subject:
    return Subject("aside", span=span)


def about_pick_up(path: str) -> Subject:
    return Subject("pick_up", path=path)


# -- keys and back -----------------------------------------------------------------------------------


def line_key(script: Script, line_id: str) -> TextKey:
    """Raises KeyError for a line that is not in the script."""
    line = script.line(line_id)
    said = wording.spoken(line.text)
    alike = [other.id for other in script.lines if wording.spoken(other.text) == said]
    return TextKey(line.text, alike.index(line_id) + 1)


def line_of(script: Script, key: TextKey) -> str | None:
    """The line that says the same, whatever its capitals, marks and punctuation."""
    said = wording.spoken(key.text)
    return _nth([line.id for line in script.lines if wording.spoken(line.text) == said], key.nth)


def section_key(script: Script, section: int) -> TextKey:
    title = script.sections[section].title
    return TextKey(title, sum(other.title == title for other in script.sections[: section + 1]))


def section_of(script: Script, key: TextKey) -> int | None:
    return _nth([at for at, section in enumerate(script.sections) if section.title == key.text], key.nth)


def pass_key(match: Match, pass_id: str | None) -> PassKey | None:
    if pass_id is None:
        return None
    if pass_id == BUILT_PASS:
        return PassKey("repeat")
    which = next(item for item in match.passes if item.id == pass_id)
    alike = [item.id for item in match.passes if item.kind == which.kind]
    return PassKey(which.kind, alike.index(pass_id) + 1)


def pass_of(match: Match, key: PassKey) -> str | None:
    alike = [item.id for item in match.passes if item.kind == key.kind]
    return _nth(alike or ([BUILT_PASS] if is_built(match) and key.kind == "repeat" else []), key.nth)


def is_built(match: Match) -> bool:
    """Whether the repeat pass has to be made from the model reading."""
    return bool(match.passes) and all(item.kind == "model" for item in match.passes)


def _nth(found: list[Thing], nth: int) -> Thing | None:
    return found[nth - 1] if 1 <= nth <= len(found) else None


# -- the same place in the take ----------------------------------------------------------------------


def nearest(things: Iterable[Thing], at: Span, span_of: Callable[[Thing], Span]) -> Thing | None:
    """The thing that shares most time with ``at``; failing that, the nearest within ``NEAR_MS``."""
    near = [thing for thing in things if span_of(thing).gap_to_ms(at) <= NEAR_MS]
    return max(
        near,
        key=lambda thing: (
            span_of(thing).overlap_ms(at),
            span_of(thing).intersection_over_union(at),
            -span_of(thing).gap_to_ms(at),
            -abs(span_of(thing).middle_ms - at.middle_ms),
        ),
        default=None,
    )


def reading_near(match: Match, line_id: str, at: Span) -> Reading | None:
    """The reading of that line there, in whatever pass."""
    return nearest((r for r in match.readings if r.line_id == line_id), at, lambda reading: reading.span)
