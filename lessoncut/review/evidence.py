"""A finding as the page shows it: its sentence, what speaks for it, and its choices, the suggested one first."""

from __future__ import annotations

from difflib import SequenceMatcher
from typing import Any

from lessoncut import wording
from lessoncut.decisions.records import Settled
from lessoncut.matching.findings.records import Finding
from lessoncut.matching.records import Reading
from lessoncut.review.desk import Seen
from lessoncut.review.rows import Passes
from lessoncut.times import Span

Json = dict[str, Any]

AROUND_MS = 700
"""What is shown of the take before and after a stretch in question."""
KIND_NAMES = {
    "repeated_line": "Line read again",
    "false_start": "Broken-off start",
    "dropped_line": "Line missing",
    "misread": "Another word",
    "ad_lib": "Talk outside the script",
    "stray_text": "Text without speech",
    "stray_sound": "Stray sound",
}


def finding_view(settled: Settled, seen: Seen, passes: Passes) -> Json:
    finding = settled.finding
    reading = _reading_of(finding, seen)
    decision = settled.decision
    chosen = next((at for at, choice in enumerate(finding.choices) if choice.name == settled.choice), 0)
    if decision and decision.reading:
        spans = {item.id: item.span for item in seen.lesson.found.match.readings}
        for at, choice in enumerate(finding.choices):
            if choice.name == settled.choice and choice.reading_id and spans[choice.reading_id] == decision.reading:
                chosen = at
    return {
        "id": finding.id,
        "kind": finding.kind,
        "kind_name": KIND_NAMES[finding.kind],
        "line": finding.line_id,
        "pass": finding.pass_id,
        "pass_name": passes.name(finding.pass_id) if finding.pass_id else None,
        "reading": reading.id if reading else None,
        "span": _pair(finding.span),
        "confidence": round(finding.confidence, 2),
        "says": finding.says,
        "facts": [[fact.name, fact.value] for fact in finding.evidence],
        "choices": [{"name": item.name, "says": item.says, "reading": item.reading_id} for item in finding.choices],
        "chosen": chosen,
        "decided": decision is not None,
        "strips": _strips(finding, reading, seen),
        "words": _compared(finding, reading, seen),
    }


def _reading_of(finding: Finding, seen: Seen) -> Reading | None:
    """The reading that the finding is about."""
    same = [
        item
        for item in seen.lesson.found.match.readings
        if (item.line_id, item.pass_id) == (finding.line_id, finding.pass_id) and item.span.overlap_ms(finding.span)
    ]
    return max(same, key=lambda item: item.span.overlap_ms(finding.span), default=None)


def _strips(finding: Finding, reading: Reading | None, seen: Seen) -> list[Json]:
    """The stretches of the take to look at and listen to: the one in question, and those a choice would play."""
    by_id = {item.id: item for item in seen.lesson.found.match.readings}
    whole = Span(0, seen.lesson.found.take.duration_ms)
    about = finding.span if reading is None else finding.span.hull(reading.span)
    titles = {"dropped_line": "Where it should stand", "repeated_line": "This reading"}
    shown = [(titles.get(finding.kind, "In question"), about, reading)]
    if finding.kind == "repeated_line" and reading:
        kept = next((c.reading_id for c in finding.choices if c.reading_id not in (None, reading.id)), None)
        if kept:
            shown.append(("The last reading", by_id[kept].span, by_id[kept]))
    elif finding.kind == "dropped_line":
        lent = next((c.reading_id for c in finding.choices if c.reading_id), None)
        if lent:
            shown.append(("What can be borrowed", by_id[lent].span, by_id[lent]))
    return [
        {
            "title": title,
            "span": _pair(span),
            "window": _pair(span.padded(AROUND_MS, AROUND_MS).clipped(whole)),
            "mark": _pair(finding.span) if span.overlap_ms(finding.span) else None,
            "words": [[word.text, word.span.start_ms, word.span.end_ms] for word in of.words] if of else [],
        }
        for title, span, of in shown
    ]


def _compared(finding: Finding, reading: Reading | None, seen: Seen) -> list[Json]:
    """What the script has against what was heard, in pieces; ``same`` says whether a piece is alike.

    Empty where there is no script to compare with, or nothing heard.
    """
    if finding.line_id is None or reading is None:
        return []
    script = list(seen.lesson.found.script.line(finding.line_id).spoken)
    heard = _heard(reading, seen)
    pieces = []
    for what, a, b, c, d in SequenceMatcher(None, script, heard, autojunk=False).get_opcodes():
        piece = {"script": " ".join(script[a:b]), "heard": " ".join(heard[c:d]), "same": what == "equal"}
        pieces.append(piece)
    return pieces


def _heard(reading: Reading, seen: Seen) -> list[str]:
    """The words heard during the reading; without a hearing at hand, what the match has kept of it."""
    if seen.hearing:
        inside = [
            word for word in seen.hearing.words if word.span.overlap_ms(reading.span) * 2 >= max(1, word.span.length_ms)
        ]
        if inside:
            return [said for word in inside for said in wording.spoken(word.text)]
    heard: list[str] = []
    for number, word in enumerate(reading.words):
        change = next((item for item in reading.changes if item.first <= number <= item.last), None)
        if change is None:
            heard += list(wording.spoken(word.heard if word.heard is not None else word.text))
        elif number == change.first:
            heard += list(change.heard)
    return heard


def _pair(span: Span) -> list[int]:
    return [span.start_ms, span.end_ms]
