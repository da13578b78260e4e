"""Every line with its times, one a row, to read or to paste."""

from __future__ import annotations

from lessoncut.outputs.base import Output, Programme
from lessoncut.outputs.programme import Said
from lessoncut.outputs.written import one_line, timestamp


def line_times(programme: Programme) -> str:
    """Onset and offset of the speech to the millisecond, the line's id and pass, and the words; tabs between."""
    rows = ["start\tend\tline\tpass\ttext"]
    for said in programme.said:
        times = [timestamp(said.span.start_ms), timestamp(said.span.end_ms)]
        rows.append("\t".join([*times, _line(said), said.mark.pass_kind or "-", one_line(said.text) or "(no words)"]))
    return "\n".join(rows) + "\n"


def _line(said: Said) -> str:
    mark = said.mark
    if mark.line_id is None:
        return "-"
    if mark.parts == 1:
        return mark.line_id
    return f"{mark.line_id} ({f'{mark.part} of {mark.parts}' if mark.part else 'whole'})"


OUTPUT = Output(
    name="line-times",
    says="when every line is said, one a row",
    suffix=".txt",
    make=line_times,
)
