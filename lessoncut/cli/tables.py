"""The tables people read. Every mark is a word or a sign; nothing is told by colour alone."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from rich import box
from rich.console import Group, RenderableType
from rich.table import Table
from rich.text import Text

from lessoncut.cli.terminal import plain
from lessoncut.decisions.records import Settled, Slot
from lessoncut.matching.records import Match, Pass, Reading
from lessoncut.outputs.programme import Programme
from lessoncut.script.records import Line
from lessoncut.times import Span, clock
from lessoncut.workflow.opened import Opened


def table(columns: Sequence[str], rows: Iterable[Sequence[str | Text]], *, right: Sequence[str] = ()) -> Table:
    """A table in the look that all of them share; the columns named in ``right`` hold numbers."""
    drawn = Table(box=box.SIMPLE_HEAD, pad_edge=False, show_edge=False, header_style="bold")
    for column in columns:
        drawn.add_column(column, justify="right" if column in right else "left", overflow="fold")
    for row in rows:
        drawn.add_row(*(cell if isinstance(cell, Text) else plain(cell) for cell in row))
    return drawn


def span_of_time(span: Span) -> str:
    return f"{clock(span.start_ms)} to {clock(span.end_ms)}"


def pass_names(match: Match) -> dict[str, str]:
    """Every pass in words: "model reading", "repeat pass", "repeat pass 2"."""
    names = {}
    for item in match.passes:
        alike = [other.id for other in match.passes if other.kind == item.kind]
        name = "model reading" if item.kind == "model" else "repeat pass"
        names[item.id] = name if len(alike) == 1 else f"{name} {alike.index(item.id) + 1}"
    return names


# -- the line sheet ---------------------------------------------------------------------------------------------------


def line_sheet(lesson: Opened) -> RenderableType:
    """Rows are lines, columns are passes; a section at a time, in the script's order."""
    script, passes = lesson.found.script, lesson.found.match.passes
    parts: list[RenderableType] = []
    for section, lines in groupby(script.lines, key=lambda line: line.section):
        title = script.sections[section].title
        parts += [plain(f"\n{title}", style="bold"), _section(lesson, tuple(lines), passes)]
    return Group(*parts)


def _section(lesson: Opened, lines: Sequence[Line], passes: Sequence[Pass]) -> Table:
    names = pass_names(lesson.found.match)
    in_passage = any(line.in_passage for line in lines)
    columns: list[str | None] = [item.id for item in passes] if in_passage and passes else [None]
    heads = ["Line", "Script", *("Said" if column is None else names[column].capitalize() for column in columns)]
    rows = ([line.id, line.text, *(_cell(lesson, line, column) for column in columns)] for line in lines)
    drawn = table(heads, rows)
    for column in drawn.columns[2:]:
        column.min_width = 20
    return drawn


def _cell(lesson: Opened, line: Line, pass_id: str | None) -> str:
    """What a line has in a pass: first what plays, then what does not."""
    match = lesson.found.match
    slot = next((s for s in lesson.effects.slots if (s.line_id, s.pass_id) == (line.id, pass_id)), None)
    readings = {reading.id: reading for reading in match.readings}
    playing = [readings[name] for name in slot.reading_ids if name in readings] if slot else []
    here = [r for r in match.readings if (r.line_id, r.pass_id) == (line.id, pass_id)]
    says = [] if any(reading.kind == "full" for reading in here) else ["MISSING"]
    says += _plays(slot, playing) or ([] if says else ["left out"])
    return "\n".join([*says, *(f"  {clock(r.span.start_ms)} {_unused(r)}" for r in here if r not in playing)])


def _plays(slot: Slot | None, playing: Sequence[Reading]) -> list[str]:
    source = {"borrowed": "borrowed: ", "picked_up": "picked up: ", "built": "built: "}.get(slot.source if slot else "")
    return [
        f"{source or ''}{span_of_time(reading.span)}{', broken off but kept' if reading.kind == 'partial' else ''}"
        for reading in playing
    ]


def _unused(reading: Reading) -> str:
    return "broken off, cut out" if reading.kind == "partial" else "read too, not kept"


# -- the findings -----------------------------------------------------------------------------------------------------


def findings_table(lesson: Opened) -> Table:
    """All findings in the order of the take, with their choices; the one that holds is marked with an arrow."""
    names = pass_names(lesson.found.match)
    rows = (
        [
            settled.finding.id,
            settled.finding.kind.replace("_", " "),
            _place(settled, names),
            f"{settled.finding.confidence:.0%}",
            settled.finding.says,
            "\n".join(_choices(settled)),
            "decided" if settled.decision else "suggested",
        ]
        for settled in lesson.resolved.settled
    )
    return table(["Id", "Finding", "Where", "Sure", "What it says", "Choices", ""], rows, right=["Sure"])


def _place(settled: Settled, names: dict[str, str]) -> str:
    finding = settled.finding
    where = [span_of_time(finding.span)]
    where += [name for name in (finding.line_id, names.get(finding.pass_id or "")) if name]
    return "\n".join(where)


def _choices(settled: Settled) -> Iterator[str]:
    for name in dict.fromkeys(choice.name for choice in settled.finding.choices):
        yield f"{'>' if name == settled.choice else ' '} {name}"


# -- what is published ------------------------------------------------------------------------------------------------


def chapters_table(programme: Programme) -> Table:
    rows = ([span_of_time(part.span), part.title] for part in programme.parts)
    return table(["Chapter", "Title"], rows)


def captions_table(programme: Programme, most: int) -> Table:
    """The first captions as they stand on the screen."""
    captions = programme.captions
    first = captions.cues[:most]
    rows = ([span_of_time(captions.span(cue)), "\n".join(cue.texts)] for cue in first)
    return table(["Caption", f"The first {len(first)} of {len(captions.cues)}"], rows)
