"""The practice track: the repeat pass alone, or with the model reading before it, a chapter a line."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

from lessoncut import files, render
from lessoncut.outputs.base import NotPossible, Programme, Written, footage_of
from lessoncut.outputs.chapters_ffmetadata import chapters_ffmetadata
from lessoncut.outputs.languages import three_letters
from lessoncut.outputs.programme import Part
from lessoncut.progress import Progress
from lessoncut.render.records import Tape
from lessoncut.render.room import Needs, tape_needs
from lessoncut.times import FrameRate, Span

if TYPE_CHECKING:
    from lessoncut.render.bench import Bench

SLOW = 0.8
MOST_CHAPTERS = 255
"""What an ID3v2 table of contents and an MP4's chapter list can count."""


def practice_stretches(programme: Programme, *, with_model: bool) -> tuple[Span, ...]:
    """Where the repeat pass stands in the lesson, and the model reading. Raises NotPossible where there is none."""
    kinds = ("model", "repeat") if with_model else ("repeat",)
    heard = [said for said in programme.said if said.mark.pass_kind in kinds]
    if not any(said.mark.pass_kind == "repeat" for said in heard):
        raise NotPossible("there is no repeat pass to practise with", hint="mark the passage in the script")
    own = [part.span for part in programme.parts if any(part.span.contains(said.span.start_ms) for said in heard)]
    stretches: list[Span] = []
    for span in own:
        if stretches and stretches[-1].end_ms == span.start_ms:
            stretches[-1] = stretches[-1].hull(span)
        else:
            stretches.append(span)
    return tuple(stretches)


def practice_chapters(programme: Programme, stretches: Sequence[Span], tempo: float = 1.0) -> tuple[Part, ...]:
    """A chapter for every line, on the track's own clock; two or more lines share one where there are too many."""
    starts: list[tuple[int, str]] = []
    before_ms = 0
    for stretch in stretches:
        for said in programme.said:
            if stretch.contains(said.span.start_ms) and said.mark.line_id and not said.mark.partial:
                at_ms = programme.rate.start_ms(said.mark.lesson_in) - stretch.start_ms
                starts.append((before_ms + max(0, at_ms), said.text))
        before_ms += stretch.length_ms
    shared = math.ceil(len(starts) / MOST_CHAPTERS)
    kept = starts[:: max(1, shared)]
    edges = [0, *(at_ms for at_ms, _ in kept[1:]), before_ms]
    spans = [Span(round(start / tempo), round(end / tempo)) for start, end in pairwise(edges)]
    return tuple(Part(text, span) for (_, text), span in zip(kept, spans, strict=True))


def write_practice(programme: Programme, path: Path, bench: Bench, progress: Progress, tempo: float = 1.0) -> Written:
    """Write the track in the form that the suffix says."""
    footage, tape = footage_of(programme), practice_tape(programme, tempo)
    with files.in_the_making(path) as unfinished:
        return Written((path,), render.write_tape(footage, tape, bench, unfinished, progress))


def practice_needs(programme: Programme, tempo: float = 1.0) -> Needs:
    return tape_needs(footage_of(programme), practice_tape(programme, tempo))


def practice_tape(programme: Programme, tempo: float = 1.0) -> Tape:
    """What the track holds. Raises NotPossible where there is no repeat pass."""
    stretches = practice_stretches(programme, with_model=footage_of(programme).wishes.with_model)
    chapters = practice_chapters(programme, stretches, tempo)
    return Tape(
        frames=tuple(_frames(span, programme.rate) for span in stretches),
        metadata=chapters_ffmetadata(replace(programme, parts=chapters)),
        language=three_letters(programme.language),
        tempo=tempo,
    )


def _frames(span: Span, rate: FrameRate) -> tuple[int, int]:
    return rate.nearest_frame(span.start_ms), rate.nearest_frame(span.end_ms)
