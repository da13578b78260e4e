"""The passage of a script where no heading marks it, found from counts of readings."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from lessoncut.script.passage import LEAST_LINES, with_passage
from lessoncut.script.records import Line, Script, Section


def script_of(*sizes: int) -> Script:
    sections = tuple(Section(f"S{n}") for n in range(len(sizes)))
    homes = [section for section, size in enumerate(sizes) for _ in range(size)]
    lines = tuple(Line(f"L{n:03d}", f"Line {n}.", home, False) for n, home in enumerate(homes, start=1))
    return Script("T", sections, lines)


def passage_of(counts: list[int], *sizes: int) -> str:
    """One sign a line: ``#`` in the passage."""
    script = script_of(*(sizes or (len(counts),)))
    found = with_passage(script, {line.id: count for line, count in zip(script.lines, counts, strict=True)})
    for line in found.lines:
        assert found.sections[line.section].passage == line.in_passage
    return "".join("#" if line.in_passage else "." for line in found.lines)


def test_the_run_read_twice() -> None:
    assert passage_of([1, 1, 2, 2, 3, 2, 1]) == "..####."


def test_small_holes_are_bridged_and_long_ones_are_not() -> None:
    assert passage_of([1, 2, 2, 1, 2, 2, 1]) == ".#####."
    assert passage_of([2, 2, 2, 0, 2, 2, 2]) == "#######"
    assert passage_of([2, 2, 2, 1, 1, 1, 1, 2, 2]) == "###......"


def test_single_retakes_are_no_passage() -> None:
    assert passage_of([1, 2, 1, 1, 1, 2, 1]) == "......."
    assert passage_of([1, 1, 1]) == "..."


def test_a_section_that_is_mostly_in_it_is_in_it_whole() -> None:
    """The passage's first line was dropped in one pass; the line before belongs to another section."""
    assert passage_of([1, 1, 1, 2, 2, 2, 2, 1], 2, 5, 1) == "..#####."
    assert passage_of([1, 1, 1, 1, 1, 2, 2, 1], 2, 5, 1) == ".....##."


def test_lines_behind_the_first_one_of_a_section_were_dropped_once() -> None:
    """The first line was read in every pass: it is none of those that were dropped."""
    counts = [1, 1, 2, 1, 1, 2, 2, 2, 1, 2, 2, 2, 2, 2, 1]
    assert passage_of(counts, 2, 12, 1) == "..############."
    counts[2] = 1
    assert passage_of(counts, 2, 12, 1) == ".....#########."


def test_lines_of_the_block_were_dropped_once() -> None:
    """In a text without headings blank lines part the passage from the opening and the ending."""
    rows = [2, 4, 5, 6, 7, 8, 9, 11]
    script = script_of(len(rows))
    lines = [replace(line, source_line=row) for line, row in zip(script.lines, rows, strict=True)]
    counts = dict(zip((line.id for line in lines), [1, 1, 2, 2, 2, 2, 2, 1], strict=True))
    found = with_passage(replace(script, lines=tuple(lines)), counts)
    assert [line.in_passage for line in found.lines] == [False, *[True] * 6, False]
    one_block = [replace(line, source_line=row) for row, line in enumerate(lines, start=1)]
    found = with_passage(replace(script, lines=tuple(one_block)), counts)
    assert [line.in_passage for line in found.lines] == [False, False, *[True] * 5, False]


def test_sections_are_divided_and_named() -> None:
    script = script_of(5)
    found = with_passage(script, {"L002": 2, "L003": 2, "L004": 2, "L001": 1, "L005": 1})
    assert found.sections == (Section("S0"), Section("Passage", True), Section("S0, continued"))
    assert [line.section for line in found.lines] == [0, 1, 1, 1, 2]
    whole = with_passage(script_of(1, 2, 1), {"L002": 2, "L003": 2, "L001": 1, "L004": 1})
    assert whole.sections == (Section("S0"), Section("S1", True), Section("S2"))


def test_a_marked_passage_stays() -> None:
    script = script_of(3)
    script = replace(script, lines=(replace(script.lines[0], in_passage=True), *script.lines[1:]))
    assert with_passage(script, {"L002": 2, "L003": 2}) == script


@given(st.lists(st.integers(0, 3), min_size=1, max_size=14))
def test_against_every_run(counts: list[int]) -> None:
    """The slow obvious search over all runs."""
    gains = [1 if count >= 2 else count - 2 for count in counts]
    held_places = [place for place, count in enumerate(counts) if count >= 2]
    runs = [(a, b + 1) for a in held_places for b in held_places if a <= b]
    first, last = max(runs, key=lambda run: (sum(gains[run[0] : run[1]]), run[1] - run[0], -run[0]), default=(0, 0))
    held = sum(count >= 2 for count in counts[first:last])
    expected = "." * len(counts)
    if held >= LEAST_LINES:
        expected = "." * first + "#" * (last - first) + "." * (len(counts) - last)
    assert passage_of(counts) == expected
