"""The whole state of the review as the page gets it: plain values for JSON, times in whole milliseconds."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from lessoncut.lesson.pacing import LEVELS
from lessoncut.lesson.records import LineItem
from lessoncut.outputs import all_outputs
from lessoncut.review.desk import Seen
from lessoncut.review.evidence import finding_view
from lessoncut.review.rows import Passes, rows
from lessoncut.timeline.records import GapMark, TakeEdit
from lessoncut.times import Span
from lessoncut.workflow.lesson import Paced
from lessoncut.workflow.opened import added_to
from lessoncut.workflow.sound import Sound

Json = dict[str, Any]


def state(seen: Seen) -> Json:
    """Everything but the sound."""
    lesson, sheet = seen.lesson, seen.sheet
    found = lesson.found
    passes = Passes(found.match, sheet.lesson.passes)
    return {
        "revision": seen.revision,
        "title": found.script.title,
        "notes": list(lesson.notes),
        "language": found.language,
        "take": {
            "duration_ms": found.take.duration_ms,
            "picture": found.take.picture is not None,
            "sound": Sound(lesson.folder, found.take).key,
            "speech": [_pair(span) for span in seen.hearing.speech] if seen.hearing else None,
        },
        "sections": [{"title": section.title, "passage": section.passage} for section in found.script.sections],
        "passes": [
            {"id": item.id, "kind": item.kind, "name": passes.name(item.id), "built": item.built, "span": span}
            for item, span in ((one, _span_of(found.match.passes, one.id)) for one in sheet.lesson.passes)
        ],
        "rows": rows(seen, passes),
        "findings": [finding_view(item, seen, passes) for item in lesson.resolved.settled],
        "undoes": seen.undoes,
        "redoes": seen.redoes,
        "pacing": pacing_view(sheet),
        "totals": totals(sheet),
        "chapters": chapters(seen, passes),
        "lesson": playing(sheet),
        "outputs": outputs(seen),
        "targets": seen.targets.sounds,
        "choices": asdict(seen.choices),
        "cover": seen.cover.name if seen.cover else None,
        "pick_ups": pick_ups(seen),
    }


def pick_ups(seen: Seen) -> list[Json]:
    """The recordings that were added: where each stands in the take, None before it was heard; and what it reads."""
    found = seen.lesson.found
    spans = dict(zip(found.pick_up_paths, found.pick_ups, strict=True))
    out: list[Json] = []
    for number, path in enumerate(added_to(seen.lesson.folder), start=1):
        span = spans.get(str(path.absolute()))
        lines = [r.line_id for r in found.match.readings if span and r.span.overlap_ms(span)]
        out.append(
            {
                "about": {"kind": "pick_up", "number": number},
                "name": path.name,
                "span": _pair(span) if span else None,
                "lines": list(dict.fromkeys(lines)),
            }
        )
    return out


def outputs(seen: Seen) -> list[Json]:
    """What can be exported; ``there`` says whether it was already."""
    listed = [(one, one.file_name("lesson")) for one in all_outputs()]
    return [
        {"name": one.name, "says": one.says, "file": file, "there": seen.lesson.folder.exported(file)}
        for one, file in listed
    ]


def totals(sheet: Paced) -> Json:
    """How long everything becomes. ``learner_ms`` is what the learners have for themselves."""
    marks = sheet.marks
    gaps = [mark.gap.lesson_span.length_ms for mark in marks.items if mark.gap.kind == "repeat"]
    repeat = [chapter.lesson_span.length_ms for chapter in marks.chapters if chapter.pass_kind == "repeat"]
    return {
        "take_ms": sheet.opened.found.take.duration_ms,
        "lesson_ms": sheet.timeline.duration_ms,
        "repeat_ms": sum(repeat),
        "learner_ms": sum(gaps),
        "findings": len(sheet.opened.resolved.settled),
        "open": len(sheet.opened.resolved.open),
    }


def tried_view(sheet: Paced) -> Json:
    """What another pacing would give: the totals, and the gap after each line."""
    gaps = [
        {"line": mark.line_id, "pass": mark.pass_id, "part": mark.part, **gap_view(mark.gap)}
        for mark in sheet.marks.items
        if mark.gap.kind == "repeat"
    ]
    return {"totals": totals(sheet), "gaps": gaps, "pacing": pacing_view(sheet)}


def gap_view(gap: GapMark) -> Json:
    return {
        "kind": gap.kind,
        "recorded_ms": gap.recorded_ms,
        "wanted_ms": gap.wanted_ms,
        "gap_ms": gap.lesson_span.length_ms,
        "clamped": gap.clamped,
    }


def pacing_view(sheet: Paced) -> Json:
    pacing = sheet.pacing
    level = LEVELS[pacing.level]
    return {
        "levels": list(LEVELS),
        "level": pacing.level,
        "factor": float(level.factor if pacing.factor is None else pacing.factor),
        "reaction_ms": level.reaction_ms if pacing.reaction_ms is None else pacing.reaction_ms,
        "least_ms": pacing.least_ms,
        "most_ms": pacing.longest_ms,
        "split": pacing.split,
        "build_up": pacing.build_up,
        "hold": pacing.fill == "hold",
    }


def chapters(seen: Seen, passes: Passes) -> list[Json]:
    """Those that are shown, in order, and after them those that are hidden."""
    sheet, script = seen.sheet, seen.lesson.found.script
    changes = seen.lesson.effects.chapters
    added = {(change.line_id, change.pass_id) for change in changes if change.line_id is not None}
    out: list[Json] = []
    for chapter, mark in zip(sheet.lesson.chapters, sheet.marks.chapters, strict=True):
        first = next((item for item in chapter.items if isinstance(item, LineItem)), None)
        line_id = first.line_id if first and (first.line_id, first.pass_id) in added else None
        about: Json = {"kind": "chapter", "pass": chapter.pass_id}
        about |= {"line": line_id} if line_id else {"section": chapter.section}
        out.append(
            {
                "title": chapter.title,
                "about": about if line_id or chapter.section is not None else None,
                "added": line_id is not None,
                "hidden": False,
                "lesson": _pair(mark.lesson_span),
                "first": {"line": first.line_id, "pass": first.pass_id} if first else None,
            }
        )
    for change in changes:
        if change.hidden and change.section is not None:
            title = change.title or script.sections[change.section].title
            where = f" ({passes.name(change.pass_id)})" if change.pass_id else ""
            place = {"kind": "chapter", "section": change.section, "pass": change.pass_id}
            out.append({"title": f"{title}{where}", "about": place, "added": False, "hidden": True, "lesson": None})
    return out


def playing(sheet: Paced) -> Json:
    """What the player must know to show the picture and the line while the lesson's sound plays."""
    rate = sheet.timeline.rate
    edits = []
    for edit in sheet.timeline.edits:
        here = [rate.start_ms(edit.lesson_in), rate.start_ms(edit.lesson_out)]
        if isinstance(edit, TakeEdit):
            at_ms = sheet.timeline.file_starts_ms[edit.file] + rate.start_ms(edit.source_in)
            edits.append({"lesson": here, "take_ms": at_ms, "held": False})
        else:
            at_ms = sheet.timeline.file_starts_ms[edit.hold_file] + rate.start_ms(edit.hold_frame)
            edits.append({"lesson": here, "take_ms": at_ms, "held": True})
    items = [
        {
            "line": mark.line_id,
            "pass": mark.pass_id,
            "reading": mark.reading_id,
            "text": mark.text,
            "lesson": _pair(mark.lesson_span),
            "gap": _pair(mark.gap.lesson_span) if mark.gap.kind == "repeat" else None,
        }
        for mark in sheet.marks.items
    ]
    return {"edits": edits, "items": items, "duration_ms": sheet.timeline.duration_ms}


def _pair(span: Span) -> list[int]:
    return [span.start_ms, span.end_ms]


def _span_of(passes: Any, pass_id: str) -> list[int] | None:
    return next((_pair(item.span) for item in passes if item.id == pass_id), None)
