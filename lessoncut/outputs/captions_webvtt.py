"""Captions as WebVTT (W3C WebVTT, "WebVTT file using cue text")."""

from __future__ import annotations

from lessoncut.outputs.base import Output, Programme
from lessoncut.outputs.written import markup_escaped, timestamp


def captions_webvtt(programme: Programme) -> str:
    """Numbered cues of plain text; where they stand on the picture is the player's choice."""
    track = programme.captions
    blocks = []
    for number, cue in enumerate(track.cues, start=1):
        span = track.span(cue)
        times = f"{timestamp(span.start_ms)} --> {timestamp(span.end_ms)}"
        blocks.append("\n".join([str(number), times, *map(markup_escaped, cue.texts), ""]))
    return "WEBVTT\n\n" + "\n".join(blocks)


OUTPUT = Output(
    name="captions-webvtt",
    says='captions for a web page: <track kind="captions">',
    suffix=".vtt",
    make=captions_webvtt,
)
