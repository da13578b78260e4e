"""Captions as ASS: white on an opaque black box, at the foot of the picture.

ASS has no escape for braces and backslashes that all renderers know: script text with them gets signs that look like
them. Times are in hundredths of a second.
"""

from __future__ import annotations

from pysubs2 import Alignment, Color, SSAEvent, SSAFile, SSAStyle

from lessoncut.outputs.base import Output, Programme
from lessoncut.outputs.captions import BOX_RGB, TEXT_RGB
from lessoncut.outputs.written import lookalikes, one_line

_OPAQUE_BOX = 3
_BREAK_ONLY_WHERE_TOLD = "2"


def captions_ass(programme: Programme) -> str:
    """The style fits 42 characters into a picture of 16:9; renderers scale it to other sizes."""
    track = programme.captions
    file = styled_file(programme)
    for cue in track.cues:
        span = track.span(cue)
        text = r"\N".join(lookalikes(line, "{}\\") for line in cue.texts)
        file.append(SSAEvent(start=span.start_ms, end=span.end_ms, text=text))
    return file.to_string("ass", header_notice="")


def styled_file(programme: Programme) -> SSAFile:
    """A file without cues: the title, the size of the picture, and the style ``Default``."""
    file = SSAFile()
    file.info = {
        "Title": one_line(programme.title),
        "PlayResX": "1920",
        "PlayResY": "1080",
        "WrapStyle": _BREAK_ONLY_WHERE_TOLD,
        "ScaledBorderAndShadow": "yes",
    }
    file.styles = {"Default": _style()}
    return file


def _style() -> SSAStyle:
    box = Color(*BOX_RGB)
    return SSAStyle(
        fontname="Arial",
        fontsize=54,
        primarycolor=Color(*TEXT_RGB),
        outlinecolor=box,
        backcolor=box,
        borderstyle=_OPAQUE_BOX,
        outline=8,
        shadow=0,
        alignment=Alignment.BOTTOM_CENTER,
        marginv=60,
    )


OUTPUT = Output(
    name="captions-ass",
    says="captions with their looks, for players and for burning in",
    suffix=".ass",
    make=captions_ass,
)
