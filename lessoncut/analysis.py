"""The analysis as other programs read it: ``analysis.json`` (docs/analysis.md).

A public contract: fields may be added, those that stand here stay. Seconds of the take, rounded to the millisecond.
"""

from __future__ import annotations

from typing import Any

from lessoncut.decisions.records import Effects, Resolved, Settled
from lessoncut.matching.records import Match, Reading
from lessoncut.script.records import Script
from lessoncut.take.records import Take, TakeFile
from lessoncut.times import Span, seconds

SCHEMA = "lessoncut.analysis/1"


def analysis(take: Take, script: Script, match: Match, resolved: Resolved, effects: Effects) -> dict[str, Any]:
    """All that was found, with what was decided since, as plain values for JSON."""
    kept = kept_readings(effects)
    return {
        "schema": SCHEMA,
        "take": {
            "duration_s": seconds(take.duration_ms),
            "files": [_file(file, span) for file, span in zip(take.files, take.spans, strict=True)],
        },
        "script": {
            "title": script.title,
            "sections": [{"title": section.title, "passage": section.passage} for section in script.sections],
            "share_found": round(match.script_share, 3),
        },
        "lines": [
            {
                "id": line.id,
                "text": line.text,
                "section": script.sections[line.section].title,
                "in_passage": line.in_passage,
            }
            for line in script.lines
        ],
        "passes": [{"id": item.id, "kind": item.kind, **_edges(item.span)} for item in match.passes],
        "readings": [_reading(reading, reading.id in kept) for reading in match.readings],
        "unscripted": [
            {**_edges(aside.span), "words": list(aside.words), "held": aside.held} for aside in match.asides
        ],
        "findings": [_finding(settled) for settled in resolved.settled],
    }


def kept_readings(effects: Effects) -> frozenset[str]:
    """Ids of the readings that play where they were read (or, picked up later, where they were missing)."""
    return frozenset(
        reading_id for slot in effects.slots if slot.source in ("take", "picked_up") for reading_id in slot.reading_ids
    )


def _edges(span: Span) -> dict[str, float]:
    return {"start_s": seconds(span.start_ms), "end_s": seconds(span.end_ms)}


def _file(file: TakeFile, span: Span) -> dict[str, Any]:
    picture = file.picture and {
        "width": file.picture.width,
        "height": file.picture.height,
        "rotation_deg": file.picture.rotation_deg,
        "frame_rate": str(file.picture.rate.per_second),
        "steady": file.picture.steady,
    }
    return {"path": file.path, "sha256": file.sha256, **_edges(span), "picture": picture}


def _reading(reading: Reading, kept: bool) -> dict[str, Any]:
    return {
        "id": reading.id,
        "line": reading.line_id,
        "pass": reading.pass_id,
        **_edges(reading.span),
        "kind": reading.kind,
        "kept": kept,
        "confidence": round(reading.confidence, 3),
        "words": [{"text": word.text, **_edges(word.span)} for word in reading.words],
    }


def _finding(settled: Settled) -> dict[str, Any]:
    finding = settled.finding
    return {
        "id": finding.id,
        "kind": finding.kind,
        "line": finding.line_id,
        "pass": finding.pass_id,
        **_edges(finding.span),
        "confidence": round(finding.confidence, 3),
        "says": finding.says,
        "evidence": {fact.name: fact.value for fact in finding.evidence},
        "choices": [{"name": choice.name, "says": choice.says} for choice in finding.choices],
        "choice": settled.choice,
        "decided": settled.decision is not None,
    }
