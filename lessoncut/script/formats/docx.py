"""Scripts written in a word processor (.docx); the only home of python-docx.

The ``Title`` style is the title; ``Heading`` styles, and styles made from them, open sections. A heading ``Passage``,
or ``{.passage}`` after any heading, marks the passage. Bold text is stressed, highlighted text a key phrase. Tables,
lists, text boxes and inserted text are read in order; deleted and hidden text, comments, notes and pictures are not.

A .docx is a zip file of XML from somebody else's machine. Before python-docx sees it, its parts are checked: their
size unpacked, and that none declares a document type, which is what entities need (ECMA-376 part 2 forbids it in a
package). python-docx itself resolves no entities.
"""

from __future__ import annotations

import struct
import zipfile
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import replace
from io import BytesIO
from typing import Any
from xml.parsers import expat

import docx
from docx.enum.style import WD_STYLE_TYPE
from docx.opc.exceptions import OpcError
from docx.oxml.exceptions import InvalidXmlError
from docx.oxml.ns import qn
from docx.text.paragraph import Paragraph as DocxParagraph
from docx.text.run import Run as DocxRun

from lessoncut.errors import ScriptError
from lessoncut.script.blocks import Block, Heading, Paragraph, Run, named_heading
from lessoncut.script.formats.base import ScriptFormat

MOST_UNPACKED_BYTES = 50 * 1024 * 1024
MOST_PARTS = 2000
_STYLES_DEEP = 12
"""Styles made from styles, at most; a style may name itself."""
_DAMAGED = (
    OpcError, InvalidXmlError, SyntaxError, zipfile.BadZipFile, zlib.error, expat.ExpatError, struct.error, LookupError,
    ValueError, TypeError, AttributeError, NotImplementedError, RuntimeError, EOFError, OSError,
)  # fmt: skip
"""What zipfile, expat (LookupError for an encoding of no known name), lxml (SyntaxError) and python-docx raise over a
broken or foreign package."""
_UNSPOKEN = ("w:del", "w:moveFrom")


def blocks(content: bytes) -> Sequence[Block]:
    """Raises ScriptError for anything that is not a sound .docx of ordinary size."""
    try:
        _check(content)
        return _blocks(docx.Document(BytesIO(content)))
    except _DAMAGED as error:
        raise ScriptError(
            "the file is not a Word document that can be read (damaged, locked with a password, or of another kind)",
            hint="open it in your word processor and save it again as .docx, without a password",
        ) from error


def _check(content: bytes) -> None:
    with zipfile.ZipFile(BytesIO(content)) as package:
        parts = package.infolist()
        if len(parts) > MOST_PARTS or sum(part.file_size for part in parts) > MOST_UNPACKED_BYTES:
            raise ScriptError(
                f"the document is larger than {MOST_UNPACKED_BYTES // 1024 // 1024} MB when unpacked",
                hint="take its pictures out, or copy the text into a new document",
            )
        for part in parts:
            if part.filename.lower().endswith((".xml", ".rels")):
                _refuse_document_types(package.read(part))


def _refuse_document_types(xml: bytes) -> None:
    def found(*_: object) -> None:
        raise ScriptError(
            "the document declares XML entities, which no word processor writes",
            hint="copy its text into a new document",
        )

    parser = expat.ParserCreate()
    parser.StartDoctypeDeclHandler = found
    parser.Parse(xml, True)


def _blocks(document: Any) -> list[Block]:
    found: list[Block] = []
    for number, element in enumerate(document.element.body.iter(qn("w:p")), start=1):
        if any(ancestor.tag.endswith("}Fallback") for ancestor in element.iterancestors()):
            continue  # the same text box again, for old readers
        paragraph = DocxParagraph(element, document)
        level = _heading_level(paragraph)
        runs = tuple(_runs(paragraph, number))
        if level is None:
            found.append(Paragraph(runs))
        else:
            found.append(named_heading("".join(run.text for run in runs), level, number))
    return _titled(found)


def _titled(found: list[Block]) -> list[Block]:
    """Without a ``Title``, a first heading above all others is the title: it becomes level 1."""
    headings = [block for block in found if isinstance(block, Heading) and block.title]
    if len(headings) > 1 and all(heading.level > headings[0].level for heading in headings[1:]):
        return [replace(headings[0], level=1) if block is headings[0] else block for block in found]
    return found


def _heading_level(paragraph: Any) -> int | None:
    """1 for the title, 2 and on for ``Heading 1`` and on, None for text."""
    style = paragraph.style
    for _ in range(_STYLES_DEEP):
        if style is None:
            return None
        name = (style.name or "").lower()
        if name == "title":
            return 1
        kind, _, depth = name.partition(" ")
        if kind == "heading" and depth.isdecimal():
            return int(depth) + 1
        style = style.base_style
    return None


def _runs(paragraph: Any, number: int) -> Iterator[Run]:
    for element in paragraph._p.iter(qn("w:r")):
        ancestors = {ancestor.tag: ancestor for ancestor in reversed(list(element.iterancestors()))}
        if ancestors[qn("w:p")] is not paragraph._p or any(qn(tag) in ancestors for tag in _UNSPOKEN):
            continue
        run = DocxRun(element, paragraph)
        if run.text and not run.font.hidden:
            yield Run(run.text, number, _is_bold(run), _is_highlighted(element))


def _is_bold(run: Any) -> bool:
    if run.bold is not None:
        return bool(run.bold)
    style_id = run._r.style
    if style_id is None:
        return False
    style = run.part.get_style(style_id, WD_STYLE_TYPE.CHARACTER)
    for _ in range(_STYLES_DEEP):
        if style is None or style.font.bold is not None:
            break
        style = style.base_style
    return bool(style is not None and style.font.bold)


def _is_highlighted(element: Any) -> bool:
    """Read from the XML: python-docx has no value for ``none``."""
    values = element.xpath("./w:rPr/w:highlight/@w:val")
    return bool(values) and values[0] != "none"


FORMAT = ScriptFormat("Word document", (".docx",), blocks)
