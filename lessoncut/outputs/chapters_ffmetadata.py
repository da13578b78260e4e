"""Chapters for ffmpeg, to be laid into the lesson's own file (FFmpeg documentation, "Metadata")."""

from __future__ import annotations

import re

from lessoncut.outputs.base import Output, Programme
from lessoncut.outputs.written import one_line

LONGEST_TITLE_BYTES = 255
"""An MP4's chapter list counts a title's bytes in eight bits, and ffmpeg would cut inside a character."""


def chapters_ffmetadata(programme: Programme) -> str:
    """Chapters that touch, since an MP4's chapter track has no gaps; times in milliseconds."""
    lines = [";FFMETADATA1", f"title={_escaped(one_line(programme.title))}"]
    for part in programme.parts:
        title = _escaped(_short(one_line(part.title)))
        times = [f"START={part.span.start_ms}", f"END={part.span.end_ms}"]
        lines += ["", "[CHAPTER]", "TIMEBASE=1/1000", *times, f"title={title}"]
    return "\n".join(lines) + "\n"


def _escaped(text: str) -> str:
    return re.sub(r"([=;#\\\n])", r"\\\1", text)


def _short(title: str) -> str:
    return title.encode()[:LONGEST_TITLE_BYTES].decode(errors="ignore")


OUTPUT = Output(
    name="chapters-ffmetadata",
    says="chapters for ffmpeg, to put into a video file",
    suffix=".ffmetadata.txt",
    make=chapters_ffmetadata,
)
