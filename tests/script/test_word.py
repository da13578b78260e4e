"""Word documents: styles, changes, and hostile packages."""

import io
import zipfile
from collections.abc import Callable, Sequence

import docx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lessoncut.errors import ScriptError
from lessoncut.script.read import MOST_BYTES
from tests.script.samples import SAMPLES, marked, never_another_exception, read, saved, texts, word_document


def test_word_styles_text_and_hidden_text() -> None:
    document = docx.Document()
    document.add_heading("The lesson", 1)
    document.add_heading("Part", 2)
    own = document.styles.add_style("Scene", 1)
    own.base_style = document.styles["Heading 2"]
    paragraph = document.add_paragraph("One ")
    paragraph.add_run("strong", style="Strong")
    paragraph.add_run(" hidden").font.hidden = True
    paragraph.add_run(".\nTwo")
    document.add_paragraph("The story {.passage}", style="Scene")
    document.add_table(1, 2).cell(0, 1).text = "In a table."
    script = read(".docx", saved(document))
    assert script.title == "The lesson"
    assert [(section.title, section.passage) for section in script.sections] == [("Part", False), ("The story", True)]
    assert texts(script) == ["One strong.", "Two", "In a table."]
    assert marked(script.lines[0]) == [("stress", "strong")]


def test_word_changes_links_and_highlight_none() -> None:
    body = (
        '<w:p><w:r><w:t>Kept </w:t></w:r><w:ins w:id="1" w:author="a"><w:r><w:t>added </w:t></w:r></w:ins>'
        '<w:del w:id="2" w:author="a"><w:r><w:delText>gone </w:delText></w:r></w:del>'
        '<w:hyperlink><w:r><w:rPr><w:highlight w:val="none"/></w:rPr><w:t>link</w:t></w:r></w:hyperlink></w:p>'
    )
    script = read(".docx", edited(word_document(), "word/document.xml", lambda xml: with_body(xml, body)))
    assert texts(script) == ["Kept added link"]
    assert script.lines[0].marks == ()


def with_body(xml: bytes, body: str) -> bytes:
    start, end = xml.index(b"<w:body>") + len(b"<w:body>"), xml.index(b"<w:sectPr")
    return xml[:start] + body.encode() + xml[end:]


def edited(document: bytes, name: str, edit: Callable[[bytes], bytes], more: Sequence[tuple[str, bytes]] = ()) -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(document)) as old, zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as new:
        for part in old.infolist():
            content = old.read(part)
            new.writestr(part.filename, edit(content) if part.filename == name else content)
        for part_name, content in more:
            new.writestr(part_name, content)
    return packed.getvalue()


BOMB = b'<!DOCTYPE w:d [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;">]>'
OUTSIDE = b'<!DOCTYPE w:d [<!ENTITY a SYSTEM "file:///etc/hostname">]>'


@pytest.mark.parametrize("doctype", [BOMB, OUTSIDE, b'<!DOCTYPE w:d SYSTEM "http://example.com/a.dtd">'])
@pytest.mark.parametrize("part", ["word/document.xml", "word/styles.xml", "[Content_Types].xml", "_rels/.rels"])
def test_xml_entities_are_refused(part: str, doctype: bytes) -> None:
    """ECMA-376 part 2 (Open Packaging Conventions): the XML of a package shall hold no DTD declarations."""
    document = edited(word_document(), part, lambda xml: xml.replace(b"?>", b"?>" + doctype, 1))
    with pytest.raises(ScriptError, match="entities"):
        read(".docx", document)


def test_zip_bombs_are_refused_before_they_are_unpacked() -> None:
    bomb = edited(word_document(), "", bytes, [("word/media/zero.bin", bytes(60 * 1024 * 1024))])
    assert len(bomb) < MOST_BYTES
    with pytest.raises(ScriptError, match="larger than 50 MB when unpacked"):
        read(".docx", bomb)
    crowd = edited(word_document(), "", bytes, [(f"word/media/{n}", b"") for n in range(2001)])
    with pytest.raises(ScriptError, match="unpacked"):
        read(".docx", crowd)


def test_a_zip_that_lies_about_its_size_is_refused() -> None:
    document = edited(word_document(), "", bytes, [("word/extra.xml", b"<a>" + b" " * 1_000_000 + b"</a>")])
    with zipfile.ZipFile(io.BytesIO(document)) as package:
        part = package.getinfo("word/extra.xml")
    lie = document.replace(part.file_size.to_bytes(4, "little"), (10).to_bytes(4, "little"))
    assert lie != document
    with pytest.raises(ScriptError, match="not a Word document that can be read"):
        read(".docx", lie)


@pytest.mark.parametrize("content", [b"", b"PK", b"\xd0\xcf\x11\xe0" + bytes(600), b"{\\rtf1}", b"plain"])
def test_other_files_called_docx(content: bytes) -> None:
    with pytest.raises(ScriptError, match="not a Word document"):
        read(".docx", content)


def test_a_part_in_an_encoding_that_nobody_knows() -> None:
    document = edited(SAMPLES["Word document"], "word/document.xml", lambda xml: xml.replace(b"UTF-8", b"U-TF-8", 1))
    with pytest.raises(ScriptError, match="not a Word document"):
        read(".docx", document)


@settings(max_examples=60)
@given(st.integers(0, 10_000), st.binary(min_size=1, max_size=4))
def test_damaged_word_packages(place: int, damage: bytes) -> None:
    document = SAMPLES["Word document"]
    at = place % len(document)
    never_another_exception(".docx", document[:at] + damage + document[at + len(damage) :])


PARTS = ["word/document.xml", "word/styles.xml", "[Content_Types].xml", "_rels/.rels", "word/_rels/document.xml.rels"]
XML_DAMAGE = st.binary(max_size=5) | st.sampled_from(
    [b"<w:p/>", b'w:val="x"', b"<w:body>", b"w:b", b"<w:r><w:t>x</w:t></w:r>", b'"', b"true", b"-1"]
)


@settings(max_examples=60)
@given(st.sampled_from(PARTS), st.integers(0, 100_000), st.integers(0, 30), XML_DAMAGE)
def test_damaged_word_xml(part: str, place: int, removed: int, damage: bytes) -> None:
    def edit(xml: bytes) -> bytes:
        at = place % len(xml)
        return xml[:at] + damage + xml[at + removed :]

    never_another_exception(".docx", edited(SAMPLES["Word document"], part, edit))
