"""The prompt of a learner's gap, as ASS: the line, a bar that shrinks, and the seconds left.

It is drawn into the video on wish (``export --prompt``), and any player that heeds ASS can show it over the video.
Times are in hundredths of a second.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import islice

from pysubs2 import Alignment, Color, SSAEvent

from lessoncut.lesson.records import LessonWord
from lessoncut.outputs.base import NotPossible, Output, Programme
from lessoncut.outputs.caption_breaks import broken
from lessoncut.outputs.captions_ass import canvas, styled_file
from lessoncut.outputs.written import lookalikes, one_line
from lessoncut.times import Span

_WIDTH, _HEIGHT, _ABOVE_FOOT = 960, 12, 90
"""Of the bar, on the canvas."""
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
    width, height = canvas(programme)
    place = ((width - _WIDTH) // 2, height - _ABOVE_FOOT)
    for said in gaps:
        file.extend(_prompt(_rows(said.words, programme.language), said.mark.gap.lesson_span, place))
    return file.to_string("ass", header_notice="")


def _rows(words: Sequence[LessonWord], language: str) -> Iterator[str]:
    """The line, broken as captions are."""
    clean = [LessonWord(text, word.span) for word in words if (text := one_line(word.text))]
    left = iter(clean)
    for count in (count for cue in broken(clean, language) for count in cue):
        yield lookalikes(" ".join(word.text for word in islice(left, count)), "{}\\")


def _prompt(rows: Iterator[str], span: Span, place: tuple[int, int]) -> Iterator[SSAEvent]:
    """``place`` is the bar's upper left corner."""
    left, top = place
    yield SSAEvent(start=span.start_ms, end=span.end_ms, text=r"\N".join(rows))
    outline = f"m 0 0 l {_WIDTH} 0 {_WIDTH} {_HEIGHT} 0 {_HEIGHT}"
    bar = rf"\pos({left},{top})\p1"
    yield SSAEvent(start=span.start_ms, end=span.end_ms, style="Trough", text=f"{{{bar}}}{outline}")
    shrinking = rf"{bar}\t(0,{span.length_ms},\fscx0)"
    yield SSAEvent(start=span.start_ms, end=span.end_ms, style="Bar", layer=1, text=f"{{{shrinking}}}{outline}")
    for left_s in range(-(-span.length_ms // 1000), 0, -1):
        start_ms, end_ms = max(span.start_ms, span.end_ms - 1000 * left_s), span.end_ms - 1000 * (left_s - 1)
        number = rf"{{\an4\pos({left + _WIDTH + 24},{top + _HEIGHT // 2})}}{left_s}"
        yield SSAEvent(start=start_ms, end=end_ms, style="Bar", text=number)


OUTPUT = Output(
    name="captions-prompt-ass",
    says="for learners' gaps: the line, a shrinking bar and the seconds left",
    suffix=".ass",
    make=captions_prompt_ass,
)
