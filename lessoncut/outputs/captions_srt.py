"""Captions as SRT: numbered cues, no styling.

SRT has no standard and no escapes; players read ``<...>`` and ``{\\...}`` as styling. Script text with those signs
gets signs that look like them.
"""

from __future__ import annotations

from pysubs2 import SSAEvent, SSAFile

from lessoncut.outputs.base import Output, Programme
from lessoncut.outputs.written import lookalikes


def captions_srt(programme: Programme) -> str:
    """Lines end in CR LF, as the players of old expect (common practice, no source)."""
    track = programme.captions
    file = SSAFile()
    for cue in track.cues:
        span = track.span(cue)
        text = r"\N".join(lookalikes(line, "<>{}\\") for line in cue.texts)
        file.append(SSAEvent(start=span.start_ms, end=span.end_ms, text=text))
    return file.to_string("srt").replace("\n", "\r\n")


OUTPUT = Output(
    name="captions-srt",
    says="captions for most players and video hosts",
    suffix=".srt",
    make=captions_srt,
)
