"""Chapters as JSON Chapters 1.2 (podcast namespace, "JSON Chapters Format", version 1.2)."""

from __future__ import annotations

from lessoncut import codec
from lessoncut.outputs.base import Output, Programme
from lessoncut.outputs.written import one_line
from lessoncut.times import seconds


def chapters_json(programme: Programme) -> str:
    """Seconds as numbers, ascending, each chapter with its end."""
    chapters = [
        {
            "startTime": seconds(part.span.start_ms),
            "endTime": seconds(part.span.end_ms),
            "title": one_line(part.title),
        }
        for part in programme.parts
    ]
    return codec.dumps({"version": "1.2.0", "title": one_line(programme.title), "chapters": chapters})


OUTPUT = Output(
    name="chapters-json",
    says="chapters as JSON Chapters 1.2, for podcasts and players",
    suffix=".json",
    make=chapters_json,
)
