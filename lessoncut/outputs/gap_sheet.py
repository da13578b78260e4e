"""The gap sheet: what each line's gap is made of, as a table for a spreadsheet."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass

from lessoncut.outputs.base import Output, Programme
from lessoncut.outputs.programme import Said
from lessoncut.outputs.written import BYTE_ORDER_MARK, cell, one_line, timestamp

_COLUMNS = (
    "line", "part", "text", "starts", "spoken_s", "syllables", "recorded_pause_s", "wanted_gap_s", "gap_s", "total_s",
    "note",
)  # fmt: skip


@dataclass(frozen=True)
class GapRow:
    """One line that the learner repeats. ``recorded_ms`` is None where the take has a cut after the line."""

    line_id: str
    part: str
    text: str
    start_ms: int
    spoken_ms: int
    syllables: int
    recorded_ms: int | None
    wanted_ms: int
    gap_ms: int
    clamped: bool

    @property
    def total_ms(self) -> int:
        """The line and its gap."""
        return self.spoken_ms + self.gap_ms


def gap_rows(programme: Programme) -> tuple[GapRow, ...]:
    """The lines with a learner's gap, in order; starts are on the programme's clock."""
    return tuple(_row(said) for said in programme.said if said.mark.gap.kind == "repeat")


def _row(said: Said) -> GapRow:
    mark = said.mark
    return GapRow(
        line_id=mark.line_id or "",
        part="" if mark.parts == 1 else f"{mark.part} of {mark.parts}" if mark.part else "whole",
        text=one_line(mark.text),
        start_ms=said.span.start_ms,
        spoken_ms=mark.lesson_span.length_ms,
        syllables=mark.syllables,
        recorded_ms=mark.gap.recorded_ms,
        wanted_ms=mark.gap.wanted_ms,
        gap_ms=mark.gap.lesson_span.length_ms,
        clamped=mark.gap.clamped,
    )


def gap_sheet(programme: Programme) -> str:
    """CSV by RFC 4180, with a byte order mark so that spreadsheets take it for UTF-8."""
    sheet = io.StringIO()
    writer = csv.writer(sheet, lineterminator="\r\n")
    writer.writerow(_COLUMNS)
    for row in gap_rows(programme):
        recorded = "" if row.recorded_ms is None else _seconds(row.recorded_ms)
        writer.writerow(
            [
                cell(row.line_id),
                row.part,
                cell(row.text),
                timestamp(row.start_ms),
                _seconds(row.spoken_ms),
                row.syllables,
                recorded,
                _seconds(row.wanted_ms),
                _seconds(row.gap_ms),
                _seconds(row.total_ms),
                "at the most the level allows" if row.clamped else "",
            ]
        )
    return BYTE_ORDER_MARK + sheet.getvalue()


def _seconds(length_ms: int) -> str:
    return f"{length_ms / 1000:.3f}"


OUTPUT = Output(
    name="gap-sheet",
    says="the learner's gap after each line and what it is made of, for a spreadsheet",
    suffix=".csv",
    make=gap_sheet,
)
