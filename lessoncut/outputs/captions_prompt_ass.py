"""The prompt of a learner's gap, as ASS: the line, a bar that shrinks, and the seconds left.

It is drawn into the video on wish (``export --prompt``), and any player that heeds ASS can show it over the video.
Times are in hundredths of a second.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from pysubs2 import Alignment, Color, SSAEvent

from lessoncut.outputs.base import NotPossible, Output, Programme
from lessoncut.outputs.caption_breaks import MOST_CHARACTERS
from lessoncut.outputs.captions_ass import styled_file
from lessoncut.outputs.written import lookalikes, one_line
from lessoncut.times import Span

_LEFT, _TOP, _WIDTH, _HEIGHT = 480, 990, 960, 12
"""Of the bar, in a picture of 1920 x 1080."""
_TROUGH = Color(96, 96, 96)
_ABOVE_BAR = 130
"""How far over the foot of the picture the line stands."""


def captions_prompt_ass(programme: Programme) -> str:
    """Raises NotPossible where no line has a gap on this clock."""
    gaps = [said for said in programme.said if said.mark.gap.kind == "repeat"] if programme.clock == "lesson" else []
    if not gaps:
        raise NotPossible("no line has a learner's gap here")
    file = styled_file(programme)
    line, bar = file.styles["Default"], file.styles["Default"].copy()
    line.marginv = _ABOVE_BAR
    bar.alignment, bar.borderstyle, bar.outline = Alignment.TOP_LEFT, 1, 2
    trough = bar.copy()
    trough.primarycolor = _TROUGH
    file.styles = {"Default": line, "Bar": bar, "Trough": trough}
    for said in gaps:
        span = said.mark.gap.lesson_span
        file.extend(_prompt(one_line(said.text), span))
    return file.to_string("ass", header_notice="")


def _prompt(text: str, span: Span) -> Iterator[SSAEvent]:
    rows = textwrap.wrap(lookalikes(text, "{}\\"), MOST_CHARACTERS, break_on_hyphens=False)
    yield SSAEvent(start=span.start_ms, end=span.end_ms, text=r"\N".join(rows))
    outline = f"m 0 0 l {_WIDTH} 0 {_WIDTH} {_HEIGHT} 0 {_HEIGHT}"
    place = rf"\pos({_LEFT},{_TOP})\p1"
    yield SSAEvent(start=span.start_ms, end=span.end_ms, style="Trough", text=f"{{{place}}}{outline}")
    shrinking = rf"{place}\t(0,{span.length_ms},\fscx0)"
    yield SSAEvent(start=span.start_ms, end=span.end_ms, style="Bar", layer=1, text=f"{{{shrinking}}}{outline}")
    for left_s in range(-(-span.length_ms // 1000), 0, -1):
        start_ms, end_ms = max(span.start_ms, span.end_ms - 1000 * left_s), span.end_ms - 1000 * (left_s - 1)
        number = rf"{{\an4\pos({_LEFT + _WIDTH + 24},{_TOP + _HEIGHT // 2})}}{left_s}"
        yield SSAEvent(start=start_ms, end=end_ms, style="Bar", text=number)


OUTPUT = Output(
    name="captions-prompt-ass",
    says="for learners' gaps: the line, a shrinking bar and the seconds left",
    suffix=".ass",
    make=captions_prompt_ass,
)
