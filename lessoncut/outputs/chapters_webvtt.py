"""Chapters as a WebVTT chapter track (W3C WebVTT, "WebVTT file using chapter title text")."""

from __future__ import annotations

from lessoncut.outputs.base import Output, Programme
from lessoncut.outputs.written import markup_escaped, one_line, timestamp


def chapters_webvtt(programme: Programme) -> str:
    """One cue a chapter, titles as plain text with character references."""
    blocks = [
        f"{number}\n{timestamp(part.span.start_ms)} --> {timestamp(part.span.end_ms)}\n"
        f"{markup_escaped(one_line(part.title)) or number}\n"
        for number, part in enumerate(programme.parts, start=1)
    ]
    return "WEBVTT\n\n" + "\n".join(blocks)


OUTPUT = Output(
    name="chapters-webvtt",
    says='chapters for a web page: <track kind="chapters">',
    suffix=".vtt",
    make=chapters_webvtt,
)
