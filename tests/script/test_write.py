"""A script written as Markdown is read as the same script."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessoncut.errors import ScriptError
from lessoncut.script.assemble import assemble
from lessoncut.script.blocks import Block, Heading, Paragraph, Run
from lessoncut.script.records import Line, Mark, Script, Section
from lessoncut.script.write import marked_up, to_markdown
from tests.script.samples import MARKDOWN, read

SIGNS = list("abAB1 .!?*_=`<>&#-+~|[](){}\\\"'“—\n:/;,éñ🎈^$%@x0I")
TEXT = st.text(alphabet=st.sampled_from(SIGNS), max_size=20) | st.text(max_size=10)
RUNS = st.lists(st.builds(Run, TEXT, st.just(1), st.booleans(), st.booleans()), min_size=1, max_size=6)
BLOCKS = st.lists(
    st.builds(Paragraph, RUNS.map(tuple)) | st.builds(Heading, TEXT, st.integers(2, 3), st.just(1)), max_size=5
)


def without_source_lines(script: Script) -> Script:
    return replace(script, lines=tuple(replace(line, source_line=None) for line in script.lines))


@given(BLOCKS, st.integers(-1, 4))
def test_round_trip(blocks: list[Block], passage: int) -> None:
    """Any script that can be read, from any format: marks that cross, begin inside words, touch punctuation."""
    marked = [
        replace(block, passage=True) if place == passage and isinstance(block, Heading) else block
        for place, block in enumerate(blocks)
    ]
    try:
        script = assemble(marked, "Untitled")
    except ScriptError:
        return
    assert without_source_lines(read(".md", to_markdown(script))) == without_source_lines(script)


def test_the_sample_comes_back_readable() -> None:
    script = read(".md", MARKDOWN)
    assert to_markdown(script) == (
        "# Vest and West\n\n## Opening\n\nHello, **everyone**.\n\nToday we compare two sounds.\n\n"
        "## Passage {.passage}\n\nMr. Vane wore a ==warm vest== at 7.30 a.m.\n\nThe wind went west.\n\n"
        "## Ending\n\nWell done!\n\nSee you soon.\n"
    )


@pytest.mark.parametrize(
    ("text", "marks", "written"),
    [
        ("computer", (Mark("stress", 3, 5),), "com**pu**ter"),
        ("a vest", (Mark("phrase", 0, 6), Mark("stress", 2, 6)), "==a **vest**=="),
        ("1. go", (), r"1\. go"),
        ("- a_b", (), r"\- a\_b"),
        ("a == b", (), r"a \=\= b"),
        ("a “b”c", (Mark("stress", 2, 5),), "a **“b”**&#99;"),
    ],
)
def test_signs_stand_where_they_count(text: str, marks: tuple[Mark, ...], written: str) -> None:
    assert marked_up(Line("L001", text, 0, False, marks)) == written


def test_a_note_is_a_comment_and_cannot_end_early() -> None:
    script = Script("T", (Section("S"),), (Line("L001", "One.", 0, False),))
    written = to_markdown(script, "first --> second\n")
    assert written.startswith("<!--\nfirst -- > second\n-->\n\n# T\n")
    assert [line.text for line in read(".md", written).lines] == ["One."]
