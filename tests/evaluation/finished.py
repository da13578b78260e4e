"""Faults of the finished lesson: its captions, chapters and gap sheet, read back from the files they are written to.

Every file is read by a reader that is not ours: webvtt-py, srt, pysubs2, ttconv, csv, json; WebVTT also by the strict
grammar of ``tests/outputs``. What is read is held against the truth and against the timeline.
"""

from __future__ import annotations

import csv
import io
import json
import math
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pysubs2
import srt
import ttconv.imsc.reader
import webvtt
from ttconv.model import P as Paragraph

from lessoncut.outputs import NotPossible, named
from lessoncut.outputs.base import Output
from lessoncut.outputs.caption_rules import checked
from lessoncut.outputs.programme import Programme
from lessoncut.store import LessonFolder
from lessoncut.timeline.records import TakeEdit, Timeline
from lessoncut.timeline.timemap import TimeMap, time_map
from lessoncut.times import Span
from lessoncut.workflow.lesson import Paced, paced, pacing_of
from lessoncut.workflow.opened import opened
from tests.evaluation.contract import Stretch, Told, told
from tests.evaluation.scores import PHANTOM_S, true_speech
from tests.outputs import webvtt_grammar

FAULTS = (
    "caption_phantom_words",
    "caption_rules_broken",
    "caption_file_faults",
    "chapter_faults",
    "gap_sheet_faults",
    "held_sounds_lost",
)
HEARD_WHOLE = 0.8
"""Of a sound held for demonstration; its ends fade."""
Times = list[tuple[int, int]]
"""Starts and ends of cues in ms."""


@dataclass(frozen=True)
class Fault:
    """``kind`` is one of ``FAULTS``; ``says`` names the clock, the place and what is wrong there."""

    kind: str
    says: str


@dataclass(frozen=True)
class Finished:
    """What is wrong with one lesson's files, and how much there was to be wrong."""

    caption_words: int
    caption_checks: int
    faults: tuple[Fault, ...]

    @property
    def counts(self) -> Counter[str]:
        return Counter(fault.kind for fault in self.faults)


def finished(folder: Path, truth: dict[str, Any]) -> Finished:
    """The faults of an analysed lesson, undecided and at the default pacing. Raises LessonFolderError."""
    lesson = LessonFolder(folder)
    made = paced(opened(lesson), pacing_of(lesson))
    own = told(truth)
    programmes = (made.on_lesson, made.on_take)
    faults = [
        *_caption_phantoms(made, own),
        *(fault for programme in programmes for fault in _broken_rules(programme)),
        *(fault for programme in programmes for fault in _caption_files(programme)),
        *(fault for programme in programmes for fault in _chapters(programme)),
        *_gap_sheet(made),
        *_held_sounds(made, own),
    ]
    words = sum(len(cue.words) for programme in programmes for cue in programme.captions.cues)
    checks = sum(1 for programme in programmes for rule, _, _ in checked(programme.captions) if rule.aimed)
    return Finished(words, checks, tuple(faults))


def finished_metrics(made: Sequence[Finished]) -> dict[str, float]:
    """The counts of all lessons added up; nothing where there is no lesson to look at."""
    if not made:
        return {}
    counts = sum((one.counts for one in made), Counter[str]())
    checks = sum(one.caption_checks for one in made)
    return {
        **{kind: float(counts[kind]) for kind in FAULTS},
        "caption_words": float(sum(one.caption_words for one in made)),
        "caption_rules_broken_share": counts["caption_rules_broken"] / checks if checks else math.nan,
    }


# -- captions ----------------------------------------------------------------------------------------


def _caption_phantoms(made: Paced, truth: Told) -> Iterator[Fault]:
    """Words shown where nobody speaks: on the take's clock, and on the lesson's by way of the map."""
    speech = true_speech(truth)
    played = time_map(made.timeline)
    for programme in (made.on_lesson, made.on_take):
        for cue in programme.captions.cues:
            for word in cue.words:
                at = _take_s(word.span, played if programme.clock == "lesson" else None)
                if at is None or all(at.distance_s(stretch) > PHANTOM_S for stretch in speech):
                    yield Fault("caption_phantom_words", f"{programme.clock} {word.span}: “{word.text}”")


def _take_s(span: Span, played: TimeMap | None) -> Stretch | None:
    """Where the word is said in the take; None where the lesson plays nothing of the take at its middle."""
    if played is None:
        return Stretch(span.start_ms / 1000, span.end_ms / 1000)
    middle_ms = played.take_ms(span.middle_ms)
    if middle_ms is None:
        return None
    half_s = span.length_ms / 2000
    return Stretch(float(middle_ms) / 1000 - half_s, float(middle_ms) / 1000 + half_s)


def _broken_rules(programme: Programme) -> Iterator[Fault]:
    """Every rule of the guides that our captions are made to keep, and do not."""
    for rule, at, seen in checked(programme.captions):
        if rule.aimed and not seen.kept:
            yield Fault("caption_rules_broken", f"{programme.clock} cue {at + 1}: {rule.name}: {seen.saw}")


def _caption_files(programme: Programme) -> Iterator[Fault]:
    """The four caption files hold the same cues, as readers of other makers read them."""
    track = programme.captions
    ours = [(track.span(cue).start_ms, track.span(cue).end_ms) for cue in track.cues]
    slack_ms = {"captions-ass": 5}  # ASS counts in hundredths of a second
    for name, read in _READERS.items():
        try:
            theirs = read(_written(programme, name))
        except (ValueError, KeyError, webvtt_grammar.NotWebVTT, webvtt.errors.MalformedFileError) as error:
            yield Fault("caption_file_faults", f"{programme.clock} {name}: {error}")
            continue
        if len(theirs) != len(ours):
            yield Fault("caption_file_faults", f"{programme.clock} {name}: {len(theirs)} cues of {len(ours)}")
        for one, other in zip(ours, theirs, strict=False):
            if max(abs(a - b) for a, b in zip(one, other, strict=True)) > slack_ms.get(name, 0):
                yield Fault("caption_file_faults", f"{programme.clock} {name}: {other} for {one}")


def _written(programme: Programme, name: str) -> str:
    output = named(name)
    assert isinstance(output, Output)
    return output.content(programme).decode("utf-8")


def _webvtt(content: str) -> Times:
    cues = webvtt.from_buffer(io.StringIO(content))
    read = [(round(cue.start_in_seconds * 1000), round(cue.end_in_seconds * 1000)) for cue in cues]
    strict = [(block.start_ms, block.end_ms) for block in webvtt_grammar.read(content.encode())]
    if [start // 1000 for start, _ in read] != [start // 1000 for start, _ in strict]:  # webvtt-py may give whole s
        raise ValueError("two readers of WebVTT do not agree")
    return strict


def _srt(content: str) -> Times:
    def ms(at: timedelta) -> int:
        return round(at.total_seconds() * 1000)

    return [(ms(cue.start), ms(cue.end)) for cue in srt.parse(content)]


def _ass(content: str) -> Times:
    return [(event.start, event.end) for event in pysubs2.SSAFile.from_string(content, format_="ass").events]


def _ttml(content: str) -> Times:
    model = ttconv.imsc.reader.to_model(ElementTree.ElementTree(ElementTree.fromstring(content)))
    if model is None:
        raise ValueError("not read")
    body = model.get_body()
    cues = [element for element in body.dfs_iterator() if isinstance(element, Paragraph)] if body else []
    return [(round(cue.get_begin() * 1000), round(cue.get_end() * 1000)) for cue in cues]


_READERS = {"captions-webvtt": _webvtt, "captions-srt": _srt, "captions-ass": _ass, "captions-ttml": _ttml}


# -- chapters ----------------------------------------------------------------------------------------


def _chapters(programme: Programme) -> Iterator[Fault]:
    """Contiguous from 0 to the end in the files for programs; by the host's rules in the list for people."""
    whole = programme.duration_ms
    chapters = json.loads(_written(programme, "chapters-json"))["chapters"]
    track = webvtt_grammar.read(_written(programme, "chapters-webvtt").encode(), chapters=True)
    marks = re.findall(r"^START=(\d+)\nEND=(\d+)$", _written(programme, "chapters-ffmetadata"), re.MULTILINE)
    spans = {
        "chapters-json": [(round(c["startTime"] * 1000), round(c["endTime"] * 1000)) for c in chapters],
        "chapters-webvtt": [(block.start_ms, block.end_ms) for block in track],
        "chapters-ffmetadata": [(int(start), int(end)) for start, end in marks],
    }
    for name, times in spans.items():
        joints = [start for start, _ in times], [0, *(end for _, end in times)]
        if not times or joints[0] != joints[1][:-1] or joints[1][-1] != whole:
            yield Fault("chapter_faults", f"{programme.clock} {name}: {times} in {whole} ms")
    try:
        listed = _written(programme, "chapters-description")
    except NotPossible:
        return
    starts_s = [_clock_s(line.split(" ", 1)[0]) for line in listed.splitlines()]
    lengths_s = [after - before for before, after in pairwise([*starts_s, whole // 1000])]
    # "The first timestamp is 00:00; at least three in ascending order; at least 10 seconds each": the host's help page.
    if starts_s[0] or len(starts_s) < 3 or min(lengths_s) < 10:
        yield Fault("chapter_faults", f"{programme.clock} chapters-description: {starts_s} s in {whole} ms")


def _clock_s(text: str) -> int:
    seconds = 0
    for part in text.split(":"):
        seconds = 60 * seconds + int(part)
    return seconds


# -- the gap sheet -----------------------------------------------------------------------------------


def _gap_sheet(made: Paced) -> Iterator[Fault]:
    """Each row is a line of a repeat pass, and its gap is the timeline's: to the frame, and nothing is said in it."""
    rows = list(csv.DictReader(io.StringIO(_written(made.on_lesson, "gap-sheet").removeprefix("\ufeff"))))
    marks = [mark for mark in made.marks.items if mark.gap.kind == "repeat"]
    if [row["line"] for row in rows] != [mark.line_id for mark in marks]:
        yield Fault("gap_sheet_faults", f"lines {[row['line'] for row in rows]}")
        return
    for row, mark in zip(rows, marks, strict=True):
        start_ms = _clock_ms(row["starts"])
        spoken_ms, gap_ms, total_ms = (round(float(row[name]) * 1000) for name in ("spoken_s", "gap_s", "total_s"))
        ends = _said_until_ms(made.timeline, mark.item, made.lesson.items[mark.item].span.end_ms)
        following = _said_from_ms(made, mark.item + 1)
        frame_ms = 1000 / float(made.timeline.rate.per_second)
        off = {
            "starts": abs(start_ms - mark.lesson_span.start_ms),
            "total": abs(total_ms - spoken_ms - gap_ms),
            "the line's end": abs(start_ms + spoken_ms - ends),
            "the next line": abs(start_ms + total_ms - following),
        }
        for what, by_ms in off.items():
            if by_ms >= frame_ms:
                yield Fault("gap_sheet_faults", f"{row['line']} {row['part']}: {what} is {by_ms:.0f} ms off")
        if round(float(row["wanted_gap_s"]) * 1000) > gap_ms:
            yield Fault("gap_sheet_faults", f"{row['line']}: {row['gap_s']} s of the {row['wanted_gap_s']} s wanted")


def _clock_ms(text: str) -> int:
    hours, minutes, seconds = text.split(":")
    return round((int(hours) * 3600 + int(minutes) * 60 + float(seconds)) * 1000)


def _said_until_ms(timeline: Timeline, item: int, take_ms: int) -> float:
    """Where the item's last word ends on the lesson's clock, counted from the edit list alone."""
    edit = [e for e in timeline.edits if isinstance(e, TakeEdit) and e.item == item and e.role != "pause"][-1]
    return _lesson_ms(timeline, edit, take_ms)


def _said_from_ms(made: Paced, item: int) -> float:
    """Where the next item's first word begins; the end of the lesson after the last."""
    if item == len(made.lesson.items):
        return made.timeline.frames * 1000 / float(made.timeline.rate.per_second)
    own = [e for e in made.timeline.edits if isinstance(e, TakeEdit) and e.item == item and e.role != "pause"]
    return _lesson_ms(made.timeline, own[0], made.lesson.items[item].span.start_ms)


def _lesson_ms(timeline: Timeline, edit: TakeEdit, take_ms: int) -> float:
    source_ms = timeline.file_starts_ms[edit.file] + edit.source_in * 1000 / float(timeline.rate.per_second)
    return edit.lesson_in * 1000 / float(timeline.rate.per_second) + take_ms - source_ms


# -- sounds held for demonstration -------------------------------------------------------------------


def _held_sounds(made: Paced, truth: Told) -> Iterator[Fault]:
    """A sound held for demonstration belongs to the lesson, whatever it was taken for."""
    played = time_map(made.timeline).by_take
    for other in (other for other in truth.others if other.kind == "held"):
        heard_ms = 1000 * sum(
            other.overlap_s(Stretch(float(stretch.take_start_ms) / 1000, float(stretch.take_end_ms) / 1000))
            for stretch in played
        )
        if heard_ms < HEARD_WHOLE * other.length_s * 1000:
            yield Fault("held_sounds_lost", f"take {other.start_s:.2f} to {other.end_s:.2f} s: {heard_ms:.0f} ms play")
