"""Find the passage of a script in which no heading marks it, from how often its lines were read."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from lessoncut.script.records import Script, Section

TWICE = 2
LEAST_LINES = 2
"""Fewer lines read twice are retakes, not a passage."""
SECTION_SHARE = 0.75
MOST_EDGE_LINES = 2
"""A section, or a block between blank lines, with that share of its lines in the passage, and no more lines before or
after it that were not read twice, is in it as a whole: those lines were dropped once. (Not where it is all the script:
there they are the opening and the ending.)"""


def with_passage(script: Script, full_readings: Mapping[str, int]) -> Script:
    """The script with its passage marked: the longest run of lines that were read in full at least twice.

    ``full_readings`` counts by line id; a line that is missing was never read. A line read less often inside the run
    is a hole, and costs the run one line (two if it was never read). A script that has its passage, and one where
    nothing was read twice, comes back as it is.
    """
    if script.passage:
        return script
    counts = [full_readings.get(line.id, 0) for line in script.lines]
    first, last = _best_run([1 if count >= TWICE else -1 if count == 1 else -2 for count in counts])
    if sum(count >= TWICE for count in counts[first:last]) < LEAST_LINES:
        return script
    for parts in ([line.section for line in script.lines], _blocks(script)):
        first, last = _to_edges(parts, counts, first, last)
    return _divided(script, first, last)


def _best_run(gains: Sequence[int]) -> tuple[int, int]:
    """``[first, last)`` with the greatest sum; of equal ones the longest, of equally long ones the first."""
    best_sum, best = 0, (0, 0)
    total = start = 0
    for place, gain in enumerate(gains):
        if total < 0:
            total, start = 0, place
        total += gain
        if (total, place + 1 - start) > (best_sum, best[1] - best[0]) and gain > 0:
            best_sum, best = total, (start, place + 1)
    return best


def _to_edges(parts: Sequence[int], counts: Sequence[int], first: int, last: int) -> tuple[int, int]:
    """The run grown to the edges of the parts of the script that it fills for the most part.

    ``parts``: of each line the number of its part; of one part there are no edges. ``counts``: its full readings.
    """
    grown_first, grown_last = first, last
    for edge in (first, last - 1):
        members = [place for place, part in enumerate(parts) if part == parts[edge]]
        inside = [place for place in members if first <= place < last]
        outside = [[place for place in members if place < first], [place for place in members if place >= last]]
        at_edges = max(sum(counts[place] < TWICE for place in places) for places in outside)
        fills = len(inside) >= SECTION_SHARE * len(members) and at_edges <= MOST_EDGE_LINES
        if fills and len(set(parts)) > 1:
            grown_first, grown_last = min(grown_first, members[0]), max(grown_last, members[-1] + 1)
    return grown_first, grown_last


def _blocks(script: Script) -> list[int]:
    """Of each line the number of its block: lines with a blank one between them, or a heading, are in two."""
    blocks = [0]
    for before, line in pairwise(script.lines):
        apart = (line.source_line or 0) - (before.source_line or 0) > 1 or line.section != before.section
        blocks.append(blocks[-1] + apart)
    return blocks


def _divided(script: Script, first: int, last: int) -> Script:
    """The script with lines ``[first, last)`` in passage sections of their own; a section cut in two goes on after."""
    sections: list[Section] = []
    lines = []
    for place, line in enumerate(script.lines):
        inside = first <= place < last
        old = script.sections[line.section]
        begins = place == 0 or script.lines[place - 1].section != line.section
        if begins or place in (first, last):
            cut = not inside and not begins
            whole = inside and all(
                first <= n < last for n, other in enumerate(script.lines) if other.section == line.section
            )
            title = f"{old.title}, continued" if cut else old.title if whole or not inside else "Passage"
            sections.append(Section(title, passage=inside))
        lines.append(replace(line, section=len(sections) - 1, in_passage=inside))
    return Script(script.title, tuple(sections), tuple(lines))
