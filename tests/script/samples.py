"""One lesson in every format, and how the tests read it."""

import io

import docx
from docx.enum.text import WD_COLOR_INDEX

from lessoncut.errors import ScriptError
from lessoncut.script.assemble import assemble
from lessoncut.script.formats import format_for
from lessoncut.script.records import Line, Script

MARKDOWN = """\
# Vest and West

## Opening

Hello, **everyone**. Today we compare two sounds.

## Passage {.passage}

Mr. Vane wore a ==warm vest== at 7.30 a.m.
The wind went west.

## Ending

- Well done!
- See you soon.
"""
PLAIN = """\
Vest and West

[Opening]
Hello, everyone. Today we compare
two sounds.

Passage

Mr. Vane wore a warm vest at 7.30 a.m.
The wind went west.

Ending
------
- Well done!
- See you soon.
"""


def word_document() -> bytes:
    document = docx.Document()
    document.add_heading("Vest and West", 0)
    document.add_heading("Opening", 1)
    opening = document.add_paragraph("Hello, ")
    opening.add_run("everyone").bold = True
    opening.add_run(". Today we compare two sounds.")
    document.add_heading("Passage", 1)
    passage = document.add_paragraph("Mr. Vane wore a ")
    passage.add_run("warm vest").font.highlight_color = WD_COLOR_INDEX.YELLOW
    passage.add_run(" at 7.30 a.m. The wind went west.")
    document.add_heading("Ending", 1)
    document.add_paragraph("Well done!", style="List Bullet")
    document.add_paragraph("See you soon.", style="List Bullet")
    return saved(document)


def saved(document: "docx.document.Document") -> bytes:
    file = io.BytesIO()
    document.save(file)
    return file.getvalue()


SAMPLES = {"Markdown": MARKDOWN.encode(), "plain text": PLAIN.encode(), "Word document": word_document()}


def read(suffix: str, content: bytes | str) -> Script:
    body = content.encode() if isinstance(content, str) else content
    return assemble(format_for(suffix).blocks(body), "untitled")


def texts(script: Script) -> list[str]:
    return [line.text for line in script.lines]


def marked(line: Line) -> list[tuple[str, str]]:
    return [(mark.kind, line.text[mark.start : mark.end]) for mark in line.marks]


def check_lines(script: Script) -> None:
    assert script.lines
    for number, line in enumerate(script.lines, start=1):
        assert line.id == f"L{number:03d}"
        assert line.text
        assert line.text == " ".join(line.text.split())
        assert line.in_passage == script.sections[line.section].passage
        for mark in line.marks:
            assert 0 <= mark.start < mark.end <= len(line.text)
            assert line.text[mark.start : mark.end].strip() == line.text[mark.start : mark.end]


def never_another_exception(suffix: str, content: bytes) -> None:
    try:
        check_lines(read(suffix, content))
    except ScriptError as error:
        assert error.what
