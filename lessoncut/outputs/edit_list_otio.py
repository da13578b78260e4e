"""The cut list as OpenTimelineIO, with the findings as markers.

A track for the picture and one for the sound, both the same; gaps are gaps. The JSON is written here by hand, in the
oldest schemas that say all of it, so that nobody needs the library; the tests read it with the library.
"""

from __future__ import annotations

import json
import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from lessoncut.matching.findings.records import Finding, FindingKind
from lessoncut.outputs.base import Output, Programme, footage_of
from lessoncut.outputs.edit_list_cmx3600 import events, labelling
from lessoncut.outputs.written import one_line
from lessoncut.render.records import Footage
from lessoncut.render.shots import Held, Played, Strip, strips_of
from lessoncut.take.records import TakeFile
from lessoncut.times import FrameRate, Span

Json = dict[str, Any]

_COLOURS: Mapping[FindingKind, str] = {
    "repeated_line": "ORANGE", "false_start": "YELLOW", "dropped_line": "RED", "misread": "MAGENTA", "ad_lib": "CYAN",
    "stray_text": "BLUE", "stray_sound": "PURPLE",
}  # fmt: skip
"""Markers have no other sorts; each has its kind in its name, too."""


def edit_list_otio(programme: Programme) -> str:
    """Frames count from the camera's own timecode where a file has it, else from its start."""
    footage = footage_of(programme)
    kinds = ["Video", "Audio"] if footage.take.picture else ["Audio"]
    return json.dumps(
        {
            "OTIO_SCHEMA": "Timeline.1",
            "name": one_line(programme.title),
            "global_start_time": _time(0, programme.rate),
            "metadata": {"lessoncut": {"language": programme.language}},
            "tracks": {
                "OTIO_SCHEMA": "Stack.1",
                "name": "tracks",
                "children": [_track(kind, programme, footage) for kind in kinds],
            },
        },
        ensure_ascii=False,
        indent=1,
    )


def _track(kind: str, programme: Programme, footage: Footage) -> Json:
    """Markers stand on the first track only."""
    strips = strips_of(footage.timeline)
    first_track = kind == "Video" or footage.take.picture is None
    markers = _markers(strips, programme, footage) if first_track else {}
    notes = {event.record_in: event.notes for event in events(programme)}
    children = []
    at = 0
    for number, strip in enumerate(strips):
        if isinstance(strip, Played):
            children.append(_clip(strip, footage, programme.rate, notes[at], markers.get(number, [])))
        else:
            children.append(_gap(strip, programme.rate))
        at += strip.frames
    return {"OTIO_SCHEMA": "Track.1", "name": f"{kind[0]}1", "kind": kind, "children": children}


def _clip(strip: Played, footage: Footage, rate: FrameRate, notes: tuple[str, ...], markers: list[Json]) -> Json:
    file, zero = footage.take.files[strip.file], _zero(strip, footage)
    return {
        "OTIO_SCHEMA": "Clip.1",
        "name": Path(file.path).name,
        "source_range": _range(zero + strip.first, strip.frames, rate),
        "markers": markers,
        "metadata": {"lessoncut": {"lines": [one_line(note) for note in notes]}},
        "media_reference": {
            "OTIO_SCHEMA": "ExternalReference.1",
            "target_url": Path(file.path).as_uri(),
            "available_range": _range(zero, _frames_in(file, rate, strip), rate),
        },
    }


def _zero(strip: Played, footage: Footage) -> int:
    """What the first frame of the strip's file is labelled with."""
    return labelling(footage.take, footage.timeline.rate).first_frames[strip.file]


def _frames_in(file: TakeFile, rate: FrameRate, strip: Played) -> int:
    """As many frames as the file lasts; no fewer than are played."""
    return max(strip.last, math.ceil(file.duration_ms * rate.per_second / 1000))


def _gap(strip: Held, rate: FrameRate) -> Json:
    return {
        "OTIO_SCHEMA": "Gap.1",
        "source_range": _range(0, strip.frames, rate),
        "metadata": {"lessoncut": {"held_file": strip.file, "held_frame": strip.frame}},
    }


def _markers(strips: Sequence[Strip], programme: Programme, footage: Footage) -> dict[int, list[Json]]:
    """The findings' markers for every strip that has some, in frames of its file.

    A finding of which nothing is played stands where it was cut out: on the last frame of the take before it.
    """
    spans = {number: _span_of(strip, footage) for number, strip in enumerate(strips) if isinstance(strip, Played)}
    found: dict[int, list[Json]] = defaultdict(list)
    for finding in programme.findings:
        heard = [number for number, span in spans.items() if finding.span.overlap_ms(span)]
        before = [number for number, span in spans.items() if span.end_ms <= finding.span.start_ms]
        for number in heard:
            found[number].append(_marker(finding, _frames_of(finding.span, strips[number], footage)))
        if before and not heard:
            last = max(before, key=lambda number: spans[number].end_ms)
            cut = _played(strips[last])
            found[last].append(_marker(finding, _range(_zero(cut, footage) + cut.last - 1, 1, footage.timeline.rate)))
    return found


def _frames_of(span: Span, strip: Strip, footage: Footage) -> Json:
    """The part of a span that the strip plays; at least one frame."""
    rate, own = footage.timeline.rate, _played(strip)
    start_ms = footage.timeline.file_starts_ms[own.file]
    first = min(max(own.first, rate.frame_at(max(0, span.start_ms - start_ms))), own.last - 1)
    last = min(max(first + 1, rate.first_frame_from(max(0, span.end_ms - start_ms))), own.last)
    return _range(_zero(own, footage) + first, last - first, rate)


def _played(strip: Strip) -> Played:
    assert isinstance(strip, Played)
    return strip


def _span_of(strip: Played, footage: Footage) -> Span:
    """The take time that the strip plays."""
    start_ms, rate = footage.timeline.file_starts_ms[strip.file], footage.timeline.rate
    return Span(start_ms + rate.start_ms(strip.first), start_ms + rate.start_ms(strip.last))


def _marker(finding: Finding, where: Json) -> Json:
    return {
        "OTIO_SCHEMA": "Marker.2",
        "name": f"{finding.id} {finding.kind.replace('_', ' ')}",
        "color": _COLOURS[finding.kind],
        "marked_range": where,
        "metadata": {"lessoncut": {"says": one_line(finding.says), "line": finding.line_id}},
    }


def _range(first: int, frames: int, rate: FrameRate) -> Json:
    return {
        "OTIO_SCHEMA": "TimeRange.1",
        "start_time": _time(first, rate),
        "duration": _time(frames, rate),
    }


def _time(frame: int, rate: FrameRate) -> Json:
    return {"OTIO_SCHEMA": "RationalTime.1", "value": float(frame), "rate": float(rate.per_second)}


OUTPUT = Output(
    name="edit-list-otio",
    says="the cut list for a video editor, as OpenTimelineIO, findings as markers",
    suffix=".otio",
    make=edit_list_otio,
)
