"""``show`` and ``gaps``."""

from __future__ import annotations

from typing import Any

from lessoncut.analysis import analysis
from lessoncut.cli.options import (
    AsJson,
    BuildUp,
    Factor,
    Hold,
    Least,
    Lesson,
    Level,
    Most,
    Reaction,
    Split,
    open_folder,
    pacing_from,
)
from lessoncut.cli.tables import findings_table, line_sheet, table
from lessoncut.cli.terminal import answers, counted, note, plain, print_json
from lessoncut.outputs.gap_sheet import GapRow, gap_rows
from lessoncut.times import clock, seconds
from lessoncut.workflow.lesson import Paced, paced, pacing_of, remember_pacing
from lessoncut.workflow.opened import Opened, opened


def show(lesson: Lesson, as_json: AsJson = False) -> None:
    """Show the line sheet (rows are lines, columns are passes) and the findings."""
    at_hand = opened(open_folder(lesson))
    if as_json:
        print_analysis(at_hand)
    else:
        print_sheet(at_hand)
        print_findings(at_hand)


def gaps(
    lesson: Lesson,
    level: Level = None,
    factor: Factor = None,
    reaction: Reaction = None,
    least: Least = None,
    most: Most = None,
    split: Split = None,
    build_up: BuildUp = None,
    hold: Hold = None,
    as_json: AsJson = False,
) -> None:
    """Show the learner's gap after each line. Options given here are kept, and `export` follows them."""
    folder = open_folder(lesson)
    at_hand = opened(folder)
    before = pacing_of(folder, at_hand.log)
    pacing = pacing_from(before, level, factor, reaction, least, most, split, build_up, hold)
    sheet = paced(at_hand, pacing)
    if pacing != before:
        remember_pacing(folder, pacing)
    if as_json:
        print_json(_gaps_json(sheet))
    else:
        print_gaps(sheet)
    for sentence in at_hand.notes:
        note(sentence)


def print_analysis(lesson: Opened) -> None:
    found = lesson.found
    whole = analysis(found.take, found.script, found.match, lesson.resolved, lesson.effects)
    print_json({**whole, "notes": list(lesson.notes)})


def print_sheet(lesson: Opened) -> None:
    answers().print(line_sheet(lesson))


def print_findings(lesson: Opened) -> None:
    if lesson.resolved.settled:
        answers().print(plain("\nFindings", style="bold"), findings_table(lesson))
        note("\n> marks the choice that holds. To choose: lessoncut decide DIR FINDING CHOICE")
    else:
        answers().print("\nNo findings: the take follows the script.")
    for sentence in lesson.notes:
        note(sentence)


def print_gaps(sheet: Paced) -> None:
    rows = gap_rows(sheet.on_lesson)
    if rows:
        heads = ["Line", "Part", "Text", "Spoken s", "Syllables", "Recorded pause s", "Gap s", "Both s", ""]
        answers().print(table(heads, map(_gap_cells, rows), right=heads[3:-1]))
    answers().print(plain(_gaps_sum(sheet, rows)))
    if any(row.recorded_ms is None for row in rows):
        note("cut: something is cut out of the take after this line, so there is no recorded pause to compare with.")


def _gap_cells(row: GapRow) -> list[str]:
    return [
        row.line_id,
        row.part,
        row.text,
        f"{row.spoken_ms / 1000:.2f}",
        str(row.syllables),
        "cut" if row.recorded_ms is None else f"{row.recorded_ms / 1000:.2f}",
        f"{row.gap_ms / 1000:.2f}",
        f"{row.total_ms / 1000:.2f}",
        "at its most" if row.clamped else "",
    ]


def _gaps_sum(sheet: Paced, rows: tuple[GapRow, ...]) -> str:
    gaps_ms = sum(row.gap_ms for row in rows)
    return (
        f"Level {sheet.pacing.level}: {counted(len(rows), 'gap')}, {clock(gaps_ms)} in all; "
        f"the lesson lasts {clock(sheet.timeline.duration_ms)}."
    )


def _gaps_json(sheet: Paced) -> dict[str, Any]:
    rows = gap_rows(sheet.on_lesson)
    return {
        "schema": "lessoncut.gaps/1",
        "level": sheet.pacing.level,
        "gaps": [
            {
                "line": row.line_id,
                "part": row.part,
                "text": row.text,
                "start_s": seconds(row.start_ms),
                "spoken_s": seconds(row.spoken_ms),
                "syllables": row.syllables,
                "recorded_pause_s": None if row.recorded_ms is None else seconds(row.recorded_ms),
                "wanted_gap_s": seconds(row.wanted_ms),
                "gap_s": seconds(row.gap_ms),
                "clamped": row.clamped,
            }
            for row in rows
        ],
        "gaps_s": seconds(sum(row.gap_ms for row in rows)),
        "lesson_s": seconds(sheet.timeline.duration_ms),
    }
