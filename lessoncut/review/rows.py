"""The rows of the line sheet: the script's lines with their readings, and between them what is outside the script."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from dataclasses import dataclass
from typing import Any

from lessoncut.decisions.records import BUILT_PASS, Slot
from lessoncut.lesson.records import LessonPass
from lessoncut.matching.records import Aside, Match, Reading
from lessoncut.review.desk import Seen
from lessoncut.script.records import Line
from lessoncut.timeline.records import ItemMark

Json = dict[str, Any]
Key = tuple[str, str | None]
"""Line id and pass id."""


@dataclass(frozen=True)
class Passes:
    """The passes in words."""

    match: Match
    shown: tuple[LessonPass, ...]

    def name(self, pass_id: str | None) -> str:
        if pass_id is None:
            return "Outside the passage"
        mine = next((item for item in self.shown if item.id == pass_id), None)
        if mine is None:
            return "Repeat pass"
        alike = sum(item.kind == mine.kind for item in self.shown)
        name = "Model reading" if mine.kind == "model" else "Repeat pass"
        return f"{name} {mine.nth}" if alike > 1 else name


@dataclass(frozen=True)
class _Drawn:
    """What the cells are made from, found once."""

    seen: Seen
    readings: dict[Key, list[Reading]]
    items: dict[Key, list[ItemMark]]
    slots: dict[Key, Slot]
    findings: dict[Key, list[str]]
    cuts: dict[str, tuple[int, int]]
    wordings: dict[str, str]
    starts_ms: list[int]
    """Of everything that is said in the take, in order."""


def rows(seen: Seen, passes: Passes) -> list[Json]:
    """Lines in script order; talk stands after the line that was read before it."""
    found = seen.lesson.found
    drawn = _drawn(seen)
    columns = [item.id for item in passes.shown]
    before = _asides_by_line(found.match)
    kept = {aside.span: aside for aside in seen.lesson.effects.asides}
    settled = {item.finding.span: item.finding.id for item in seen.lesson.resolved.settled if not item.finding.line_id}
    out: list[Json] = [_aside_row(aside, kept, settled) for aside in before.get(None, [])]
    for line in found.script.lines:
        keys = columns if line.in_passage and columns else [None]
        out.append(
            {
                "kind": "line",
                "id": line.id,
                "text": line.text,
                "section": line.section,
                "in_passage": line.in_passage,
                "cells": [_cell(line, pass_id, drawn) for pass_id in keys],
            }
        )
        out += [_aside_row(aside, kept, settled) for aside in before.get(line.id, [])]
    return out


def _drawn(seen: Seen) -> _Drawn:
    lesson = seen.lesson
    readings: dict[Key, list[Reading]] = defaultdict(list)
    items: dict[Key, list[ItemMark]] = defaultdict(list)
    findings: dict[Key, list[str]] = defaultdict(list)
    for reading in lesson.found.match.readings:
        readings[reading.line_id, reading.pass_id].append(reading)
    for mark in seen.sheet.marks.items:
        if mark.line_id:
            items[mark.line_id, mark.pass_id].append(mark)
    for finding in lesson.found.findings:
        if finding.line_id:
            findings[finding.line_id, finding.pass_id].append(finding.id)
    return _Drawn(
        seen=seen,
        readings=readings,
        items=items,
        slots={(slot.line_id, slot.pass_id): slot for slot in lesson.effects.slots},
        findings=findings,
        cuts={moved.reading_id: (moved.cut.start_ms, moved.cut.end_ms) for moved in lesson.effects.edges},
        wordings={worded.reading_id: worded.text for worded in lesson.effects.wordings if worded.text is not None},
        starts_ms=sorted(
            [reading.span.start_ms for reading in lesson.found.match.readings]
            + [aside.span.start_ms for aside in lesson.found.match.asides]
        ),
    )


def _cell(line: Line, pass_id: str | None, drawn: _Drawn) -> Json:
    key = (line.id, pass_id)
    slot = drawn.slots.get(key)
    mine = drawn.readings[key]
    playing = slot.reading_ids if slot else ()
    own_gap = any(gap.line_id == line.id for gap in drawn.seen.lesson.effects.gaps)
    shown = {reading.id for reading in mine}
    others = [reading for other in drawn.readings if other[0] == line.id for reading in drawn.readings[other]]
    lent = [reading for reading in others if reading.id in playing and reading.id not in shown]
    return {
        "pass": pass_id,
        "readings": [_reading(reading, playing, drawn) for reading in mine],
        "lent": [_reading(reading, playing, drawn) for reading in lent],
        "source": slot.source if slot else "take",
        "missing": not any(reading.kind == "full" for reading in mine) and pass_id != BUILT_PASS,
        "silent": not playing,
        "borrowable": [reading.id for reading in others if reading.kind == "full" and reading.id not in shown],
        "plays": [_played(mark, drawn, own_gap) for mark in drawn.items[key]],
        "findings": drawn.findings[key],
    }


def _reading(reading: Reading, playing: tuple[str, ...], drawn: _Drawn) -> Json:
    cut = drawn.cuts.get(reading.id)
    return {
        "id": reading.id,
        "kind": reading.kind,
        "plays": reading.id in playing,
        "pass": reading.pass_id,
        "span": [reading.span.start_ms, reading.span.end_ms],
        "cut": list(cut or (reading.cut.start_ms, reading.cut.end_ms)),
        "moved": cut is not None,
        "picked_up": any(span.overlap_ms(reading.span) for span in drawn.seen.lesson.found.pick_ups),
        "caption": drawn.wordings.get(reading.id),
    }


def _played(mark: ItemMark, drawn: _Drawn, own_gap: bool) -> Json:
    item = drawn.seen.sheet.lesson.items[mark.item]
    gap = mark.gap
    return {
        "reading": mark.reading_id,
        "part": mark.part,
        "parts": mark.parts,
        "text": mark.text,
        "span": [item.span.start_ms, item.span.end_ms],
        "lesson": [mark.lesson_span.start_ms, mark.lesson_span.end_ms],
        "gap": {
            "kind": gap.kind,
            "recorded_ms": _pause_ms(mark, item.span.end_ms, drawn),
            "wanted_ms": gap.wanted_ms,
            "gap_ms": gap.lesson_span.length_ms,
            "clamped": gap.clamped,
            "own": own_gap and gap.kind == "repeat" and mark.part in (0, mark.parts),
        },
    }


def _pause_ms(mark: ItemMark, end_ms: int, drawn: _Drawn) -> int | None:
    """The take's pause after it, also where the lesson goes on elsewhere; None between two parts of a reading."""
    if mark.gap.recorded_ms is not None:
        return mark.gap.recorded_ms
    if 0 < mark.part < mark.parts:
        return None
    at = bisect_left(drawn.starts_ms, end_ms)
    until_ms = drawn.starts_ms[at] if at < len(drawn.starts_ms) else drawn.seen.lesson.found.take.duration_ms
    return max(0, until_ms - end_ms)


def _asides_by_line(match: Match) -> dict[str | None, list[Aside]]:
    """Each stretch of talk under the line whose reading ended last before it."""
    by_end = sorted(match.readings, key=lambda reading: reading.span.end_ms)
    ends = [reading.span.end_ms for reading in by_end]
    out: dict[str | None, list[Aside]] = defaultdict(list)
    for aside in match.asides:
        at = bisect_right(ends, aside.span.start_ms + 1)
        out[by_end[at - 1].line_id if at else None].append(aside)
    return out


def _aside_row(aside: Aside, kept: dict[Any, Any], findings: dict[Any, str]) -> Json:
    return {
        "kind": "aside",
        "id": f"A{aside.span.start_ms}",
        "words": " ".join(aside.words),
        "span": [aside.span.start_ms, aside.span.end_ms],
        "held": aside.held,
        "plays": aside.span in kept,
        "findings": [name for span, name in findings.items() if span.overlap_ms(aside.span)],
        "pass": None,
    }
