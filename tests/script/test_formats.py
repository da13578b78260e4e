"""The same lesson in every format, and what Markdown and plain text add."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessoncut.errors import ScriptError
from lessoncut.script.formats import ScriptFormat, format_for, script_formats
from lessoncut.script.records import Mark
from tests.script.samples import SAMPLES, marked, never_another_exception, read, texts


@pytest.mark.parametrize("format_", script_formats(), ids=lambda format_: format_.name)
def test_the_same_lesson_in_every_format(format_: ScriptFormat) -> None:
    name, suffixes = format_.name, format_.suffixes
    script = read(suffixes[0], SAMPLES[name])
    assert script.title == "Vest and West"
    assert [(section.title, section.passage) for section in script.sections] == [
        ("Opening", False), ("Passage", True), ("Ending", False)
    ]  # fmt: skip
    assert [(line.id, line.section, line.in_passage, line.text) for line in script.lines] == [
        ("L001", 0, False, "Hello, everyone."),
        ("L002", 0, False, "Today we compare two sounds."),
        ("L003", 1, True, "Mr. Vane wore a warm vest at 7.30 a.m."),
        ("L004", 1, True, "The wind went west."),
        ("L005", 2, False, "Well done!"),
        ("L006", 2, False, "See you soon."),
    ]
    if name != "plain text":
        assert script.lines[0].marks == (Mark("stress", 7, 15),)
        assert script.lines[2].marks == (Mark("phrase", 16, 25),)


def test_formats_are_found_by_ending() -> None:
    assert format_for(".MD").name == "Markdown"
    assert format_for("").name == "plain text"
    with pytest.raises(ScriptError, match=r"\.pdf") as caught:
        format_for(".pdf")
    assert ".docx" in str(caught.value)


# Markdown


def test_marks_that_span_a_sentence_end_are_split() -> None:
    first, second, third = read(".md", "Go **there. Wait.** Then ==we **all** go==.").lines
    assert first.marks == (Mark("stress", 3, 9),)
    assert second.marks == (Mark("stress", 0, 5),)
    assert third.marks == (Mark("phrase", 5, 14), Mark("stress", 8, 11))


@pytest.mark.parametrize(
    ("source", "text", "marks"),
    [
        ("com**PU**ter", "comPUter", [("stress", "PU")]),
        ("__so__ *very* `warm` ~~not~~", "so very warm ~~not~~", [("stress", "so")]),
        ("***both***", "both", [("stress", "both")]),
        ("**a** **b**", "a b", [("stress", "a"), ("stress", "b")]),
        (r"\*\*not\*\* \==this\==", "**not** ==this==", []),
        ("x == y and a == b", "x == y and a == b", []),
        ("=a= ===b===", "=a= ===b===", []),
        ("==a **b==c**", "a **bc**", [("phrase", "a **b")]),
        ("[a **link**](http://example.com) ![a picture](x.png)", "a link", [("stress", "link")]),
        ("[==key==](x)", "key", [("phrase", "key")]),
        ("a <b>bold</b> move &amp; more", "a bold move & more", []),
        ("<script>alert(1)</script>", "alert(1)", []),
        ("seen <!-- not\nspoken --> here", "seen here", []),
        ("    indented **text**", "indented text", [("stress", "text")]),
        ("**soft\nbreak**", "soft break", [("stress", "soft break")]),
        ("5 < 6 and 7 > 2", "5 < 6 and 7 > 2", []),
    ],
)
def test_markdown_text_and_marks(source: str, text: str, marks: list[tuple[str, str]]) -> None:
    """Emphasis, escapes, code, links and breaks as in CommonMark 0.31; the two marks are ours."""
    (line,) = read(".md", source).lines
    assert line.text == text
    assert marked(line) == marks


@pytest.mark.parametrize(
    ("source", "lines"),
    [
        (
            "Bend the wire into a letter T.\nWind the thread around it.",
            ["Bend the wire into a letter T.", "Wind the thread around it."],
        ),
        ("I waited…\nThen the lamp went out.", ["I waited…", "Then the lamp went out."]),
        ("We met Dr.\nVane at 4 p.m.\nHe waved.", ["We met Dr. Vane at 4 p.m.", "He waved."]),
        (
            "Bend it into a T.\nMara, who\nwatched, laughed.",
            ["Bend it into a T. Mara, who watched, laughed."],
        ),  # wrapped
        (
            "Over the weir goes the water,\nunder the weir goes the eel;\n"
            "nobody looks at the ferry,\nnobody's hand on the wheel.",
            [
                "Over the weir goes the water,",
                "under the weir goes the eel;",
                "nobody looks at the ferry,",
                "nobody's hand on the wheel.",
            ],
        ),
        (
            "Bring the rope,\nthe lamp and the map,\nand come.",
            ["Bring the rope, the lamp and the map, and come."],
        ),  # so few rows may be wrapped
    ],
)
def test_a_paragraph_written_row_by_row_has_a_line_a_row(source: str, lines: list[str]) -> None:
    assert [line.text for line in read(".md", source).lines] == lines


@pytest.mark.parametrize("between", ["\n", "\n\n", "\\\n"])
def test_a_line_that_is_only_a_number_is_a_line(between: str) -> None:
    """Though in CommonMark 0.31 (5.2) it may be an empty item of a list."""
    source = between.join(["How many came?", "17.", "Two left.", "B.", "Count on.", "18.", "19."])
    assert texts(read(".md", source)) == ["How many came?", "17.", "Two left.", "B.", "Count on.", "18.", "19."]
    assert texts(read(".md", "- \n- Go\n\nAt steps 2. Turn.")) == ["Go", "At steps 2.", "Turn."]


def test_markdown_structure() -> None:
    script = read(
        ".md",
        "Before.\n\n## One\n\n> Quoted. More.\n\n1. First\n   - Second\n\nhard  \nbreak\\\nagain<br>end\n\n"
        "| A | B |\n|---|---|\n| c | d |\n\n```\nfenced one\nfenced two\n```\n\n---\n\n## \n\nStill one.\n\n## Empty\n",
    )
    assert script.title == "untitled"
    assert [section.title for section in script.sections] == ["untitled", "One"]
    assert texts(script) == [
        "Before.", "Quoted.", "More.", "First", "Second", "hard", "break", "again", "end", "A", "B", "c", "d",
        "fenced one", "fenced two", "Still one.",
    ]  # fmt: skip


def test_source_lines_are_those_of_the_file() -> None:
    script = read(".md", "# T\n\n<!-- two\nlines -->\n\nOne. Two\ngoes on. Three.\n\n- Four\n")
    assert [(line.text, line.source_line) for line in script.lines] == [
        ("One.", 6), ("Two goes on.", 6), ("Three.", 7), ("Four", 9)
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("heading", "title", "passage"),
    [
        ("## The story {.passage}", "The story", True),
        ("## The story {#a .passage key=1} ##", "The story", True),
        ("## The *story* {.other}", "The story", False),
        ("## Sets {a, b}", "Sets {a, b}", False),
        (r"## The story \{.passage\}", "The story {.passage}", False),
        ("## Passage", "Passage", False),
        ("The story {.passage}\n---", "The story", True),
        ("## {.passage}", "Passage", True),
    ],
)
def test_heading_attributes(heading: str, title: str, passage: bool) -> None:
    """Pandoc User's Guide, "Extension: header_attributes": ``{#identifier .class key=value}`` after the text."""
    section = read(".md", f"{heading}\n\nA line.").sections[0]
    assert (section.title, section.passage) == (title, passage)


def test_a_passage_holds_its_deeper_sections() -> None:
    script = read(".md", "## A {.passage}\n\nOne.\n\n### B\n\nTwo.\n\n## C\n\nThree.")
    assert [section.passage for section in script.sections] == [True, True, False]
    assert [line.text for line in script.passage] == ["One.", "Two."]


# Plain text


def test_plain_headings() -> None:
    script = read(
        ".txt",
        "My lesson\n\nFirst part\n\nHello there. This is\nwrapped.\n\nvine\n\nwine\n\nVest\n\nWest\n\n"
        "Under\n=====\nText here.\n\n[Last]\nBye",
    )
    assert script.title == "My lesson"
    assert [section.title for section in script.sections] == ["First part", "Under", "Last"]
    assert texts(script) == ["Hello there.", "This is wrapped.", "vine", "wine", "Vest", "West", "Text here.", "Bye"]


@pytest.mark.parametrize("heading", ["Passage", "PASSAGE:", "[The passage]", "Passage\n=====", "[Story {.passage}]"])
def test_plain_passage(heading: str) -> None:
    script = read(".txt", f"Title\n\nBefore it starts.\n\n{heading}\n\nThe wind.\n\n[After]\nBye.")
    assert [line.text for line in script.passage] == ["The wind."]


def test_plain_lines() -> None:
    long = "The wind went over the wide valley and the wet wood of old"
    script = read(".txt", f"vine\nwine\n\n• Vest\n2) West\n\n{long} Mr.\nVane.\n\nVera waits\nWe go. ==no== **marks**")
    assert texts(script) == [
        "vine", "wine", "Vest", "West", f"{long} Mr. Vane.", "Vera waits", "We go.", "==no== **marks**"
    ]  # fmt: skip


def test_one_line_is_a_line_and_not_a_title() -> None:
    assert texts(read(".txt", "The whole script")) == ["The whole script"]


# Hostile text


FRAGMENTS = st.sampled_from(
    ["# ", "## ", " {.passage}", "**", "==", "*", "_", "- ", "1. ", "> ", "\n", "\n\n", "  \n", "<!--", "-->", "<b>",
     "</b>", "<script>", "[", "](x)", "`", "```\n", "|", "---\n", "===\n", "[Passage]", "Passage", "&amp;", "&#0;",
     "&#xD800;", "\\", "\t", "\x0c", "\u2028", "\ufeff", "a", "Mr.", "3.5", "Word. ", '"', "…", "é", "日",
     "\r\n", "$", "\0"]
)  # fmt: skip
HOSTILE = st.lists(FRAGMENTS | st.text(max_size=4), max_size=30).map("".join)


@given(HOSTILE | st.text(max_size=60))
def test_hostile_text(text: str) -> None:
    for suffix in (".md", ".txt"):
        never_another_exception(suffix, text.encode("utf-8", "replace"))


@given(st.binary(max_size=200))
def test_hostile_bytes(content: bytes) -> None:
    for format_ in script_formats():
        never_another_exception(format_.suffixes[0], content)
