"""A few seconds of the lesson around a line or a cut, before everything is exported."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from lessoncut import files, render
from lessoncut.errors import ChoiceError
from lessoncut.timeline.records import ItemMark
from lessoncut.times import Span, clock
from lessoncut.workflow.lesson import Paced
from lessoncut.workflow.opened import check_take_is_there
from lessoncut.workflow.sound import Sound

AROUND_MS = 1500
"""How much is shown before and after a line."""
AROUND_CUT_MS = 1000
NOTICED_S = 0.1
"""Of a picture that stands still."""
LONGEST_MS = 10_000


@dataclass(frozen=True)
class Preview:
    """A small file, and what it shows: a sentence."""

    path: Path
    says: str


def preview_line(sheet: Paced, line: str) -> Preview:
    """The line as it plays last in the lesson, from before its beginning into its gap; ``12`` is line L012.

    Raises ChoiceError, TakeError, ToolError, LessonFolderError.
    """
    line_id = f"L{int(line):03d}" if line.isdecimal() else line.upper()
    marks = [mark for mark in sheet.marks.items if mark.line_id == line_id]
    if not marks:
        there = sorted({mark.line_id for mark in sheet.marks.items if mark.line_id})
        known = f"one of {there[0]} to {there[-1]}" if there else "the lesson plays no line"
        raise ChoiceError(f"the lesson plays no line {line!r}", hint=f"{known}; lessoncut show DIR lists them")
    mark = marks[-1]
    span = mark.lesson_span.padded(AROUND_MS, AROUND_MS)
    says = f"{line_id} {_where(mark)}at {clock(mark.lesson_span.start_ms)} of the lesson: {mark.text}"
    return _made(sheet, Span(max(0, span.start_ms), min(span.end_ms, span.start_ms + LONGEST_MS)), says)


def preview_cut(sheet: Paced, number: int) -> Preview:
    """The seconds around a cut, counted from 1. Raises like ``preview_line``."""
    cuts = render.cuts_of(sheet.timeline)
    if not 1 <= number <= len(cuts):
        raise ChoiceError(f"there is no cut {number}", hint=f"the lesson has {len(cuts)} cuts, counted from 1")
    at_ms = sheet.timeline.rate.start_ms(cuts[number - 1])
    says = f"cut {number} of {len(cuts)}, at {clock(at_ms)} of the lesson"
    return _made(sheet, Span(max(0, at_ms - AROUND_CUT_MS), at_ms + AROUND_CUT_MS), says)


def _where(mark: ItemMark) -> str:
    return {"model": "in the model reading, ", "repeat": "in the repeat pass, ", None: ""}[mark.pass_kind]


def _made(sheet: Paced, span: Span, says: str) -> Preview:
    check_take_is_there(sheet.opened.found.known)
    folder, rate = sheet.opened.folder, sheet.timeline.rate
    first, end = rate.frame_at(span.start_ms), min(sheet.timeline.frames, rate.first_frame_from(span.end_ms))
    suffix = ".m4a" if sheet.opened.found.take.picture is None else ".mp4"
    path = folder.output_path(f"preview{suffix}")
    levels = Sound(folder, sheet.opened.found.take).levels()
    with folder.locked(), files.in_the_making(path) as unfinished:
        still = render.write_glance(sheet.footage(), first, end, levels, unfinished)
    still_s = float(still / rate.per_second)
    if still_s >= NOTICED_S:
        says += f" (the picture stands still for {still_s:.1f} s of it: the take's key frames lie far apart)"
    return Preview(path, says)
