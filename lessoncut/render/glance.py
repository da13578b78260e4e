"""A few seconds of the lesson, small and at once: to see and hear a join before everything is made."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np

from lessoncut.render.bench import Bench, target_lufs
from lessoncut.render.coding import AAC, write_sound
from lessoncut.render.encoding import small_look
from lessoncut.render.film import encoded_track, put_together
from lessoncut.render.levelling import levelled
from lessoncut.render.records import Footage, Papers
from lessoncut.render.shots import strips_of
from lessoncut.render.sound import Source, lesson_sound, runs_on
from lessoncut.render.tone import Tone, tone_of
from lessoncut.render.tracks import SILENCE, Track, decoded_part, on_grid
from lessoncut.timeline.records import Edit, Gap, TakeEdit, Timeline
from lessoncut.times import Span

_AROUND_MS = 2000
"""How much of the take around what is played is decoded: room tone is found there."""


def cuts_of(timeline: Timeline) -> tuple[int, ...]:
    """The lesson frames at which the take does not run on: the joins, in order."""
    return tuple(following.lesson_in for edit, following in pairwise(timeline.edits) if not runs_on(edit, following))


def write_glance(footage: Footage, first: int, end: int, bench: Bench, to: Path) -> None:
    """Lesson frames ``[first, end)`` as a small MP4, or as M4A where the take has no picture.

    Raises TakeError, ToolError.
    """
    part = replace(footage, timeline=clipped(footage.timeline, first, end))
    if footage.take.picture is None:
        _write_heard(part, to)
        return
    heard, seen = bench.folder / "glance.m4a", bench.folder / "glance.mov"
    with ThreadPoolExecutor(1) as beside:
        picture = beside.submit(
            encoded_track, part, strips_of(part.timeline), small_look(footage.take), bench.folder, seen
        )
        _write_heard(part, heard)
        picture.result()
    put_together(seen, heard, Papers(";FFMETADATA1\n", "", "und"), bench.folder, to, part.timeline.duration_ms)


def _write_heard(footage: Footage, to: Path) -> None:
    source = _source(footage)
    sound = np.concatenate(list(lesson_sound(footage.timeline, source)))
    write_sound(levelled(sound, target_lufs(footage.wishes, source.channels)), to, AAC)


def clipped(timeline: Timeline, first: int, end: int) -> Timeline:
    """The part of a timeline as a timeline of its own, without covers."""
    return replace(timeline, edits=tuple(_inside(timeline, first, end)), covers=())


def _inside(timeline: Timeline, first: int, end: int) -> Iterator[Edit]:
    for edit in timeline.edits:
        start, stop = max(edit.lesson_in, first), min(edit.lesson_out, end)
        if start >= stop:
            continue
        moved = replace(edit, lesson_in=start - first, lesson_out=stop - first)
        if isinstance(moved, TakeEdit):
            moved = replace(
                moved,
                source_in=moved.source_in + start - edit.lesson_in,
                source_out=moved.source_out - (edit.lesson_out - stop),
            )
        yield moved


def _source(footage: Footage) -> Source:
    """The take's sound where it is needed, and nothing of the rest."""
    tracks: list[Track] = []
    tones: list[Tone] = []
    for number, file in enumerate(footage.take.files):
        wanted = _wanted(footage, number)
        track = on_grid(decoded_part(file, wanted), file, footage.timeline.rate) if wanted else SILENCE
        beside = [Span(0, wanted.start_ms), Span(wanted.end_ms, file.duration_ms)] if wanted else []
        tracks.append(track)
        tones.append(tone_of(track, sorted([*footage.sounding_in(number), *beside])))
    return Source(tuple(tracks), tuple(tones))


def _wanted(footage: Footage, number: int) -> Span | None:
    """The stretch of one file that is heard, with some of what lies around it."""
    rate = footage.timeline.rate
    frames: list[int] = []
    for edit in footage.timeline.edits:
        if isinstance(edit, TakeEdit) and edit.file == number:
            frames += [edit.source_in, edit.source_out]
        elif isinstance(edit, Gap) and edit.hold_file == number:
            frames.append(edit.hold_frame)
    if not frames:
        return None
    around = Span(rate.start_ms(min(frames)), rate.start_ms(max(frames))).padded(_AROUND_MS, _AROUND_MS)
    return around.clipped(Span(0, footage.take.files[number].duration_ms))
