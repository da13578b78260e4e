"""Captions as ASS: white on an opaque black box, at the foot of the picture.

ASS has no escape for braces and backslashes that all renderers know: script text with them gets signs that look like
them. Times are in hundredths of a second.
"""

from __future__ import annotations

from fractions import Fraction

from pysubs2 import Alignment, Color, SSAEvent, SSAFile, SSAStyle

from lessoncut.outputs.base import Output, Programme
from lessoncut.outputs.captions import BOX_RGB, TEXT_RGB
from lessoncut.outputs.written import lookalikes, one_line

_OPAQUE_BOX = 3
_HEIGHT, _LEAST_WIDTH = 1080, 1280
_BREAK_ONLY_WHERE_TOLD = "2"


def captions_ass(programme: Programme) -> str:
    """The style fits 42 characters into the picture."""
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
    width, height = canvas(programme)
    file.info = {
        "Title": one_line(programme.title),
        "PlayResX": str(width),
        "PlayResY": str(height),
        "WrapStyle": _BREAK_ONLY_WHERE_TOLD,
        "ScaledBorderAndShadow": "yes",
    }
    file.styles = {"Default": _style()}
    return file


def canvas(programme: Programme) -> tuple[int, int]:
    """What positions count in: the picture's form, 1080 high, or higher where it is too narrow for a line of text."""
    picture = programme.footage.take.picture if programme.footage else None
    form = Fraction(16, 9) if picture is None else Fraction(picture.width, picture.height)
    if picture and picture.rotation_deg % 180:
        form = 1 / form
    width = max(_HEIGHT * form, Fraction(_LEAST_WIDTH))
    return round(width), round(width / form)


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
