"""Small scripts for the matching's tests; invented scenes."""

from __future__ import annotations

from lessoncut.script.records import Line, Script, Section


def script(passage: str, opening: str = "", ending: str = "") -> Script:
    """One line of text a line of the script; the passage between an opening and an ending."""
    sections: list[Section] = []
    lines: list[Line] = []
    for title, text in (("Opening", opening), ("Passage", passage), ("Ending", ending)):
        told = [row.strip() for row in text.strip().splitlines() if row.strip()]
        if not told:
            continue
        for row in told:
            lines.append(Line(f"L{len(lines) + 1:03d}", row, len(sections), title == "Passage"))
        sections.append(Section(title, title == "Passage"))
    return Script("A lesson", tuple(sections), tuple(lines))


FERRY = """
    The ferry leaves at seven.
    Vera waits beside the water.
    A woman waves from the window.
    We have five minutes left.
    The river is wide and very cold.
"""
