from __future__ import annotations

import io
import re
from dataclasses import replace
from html.parser import HTMLParser
from typing import Any
from xml.etree import ElementTree

import pytest
from markdown_it import MarkdownIt
from pypdf import PdfReader

from lessoncut.outputs import NotPossible
from lessoncut.outputs.choices import Choices, Paper
from lessoncut.outputs.handout import link_to, phonetic, sheet, stressed_letters
from lessoncut.outputs.handout_html import handout_html
from lessoncut.outputs.handout_markdown import handout_markdown
from lessoncut.outputs.handout_pdf import handout_pdf
from lessoncut.script.records import Line, Mark
from lessoncut.teaching.stress_rule import stress_of
from tests.outputs.lessons import lesson_script, studied
from tests.outputs.programmes import harbour

URL = "https://example.org/lessons/very-well"
AWKWARD = """
Say <b>"west"</b> & vest, #1 * 2 = $x$ _not_ [[this]].
Vera's `vow` {was} 100% \\w{} ~ @home?
"""


def _capitals(line: Line) -> str:
    letters = stressed_letters(line, stress_of(line))
    return "".join(char.upper() if at in letters else char for at, char in enumerate(line.text.lower()))


def _pages(pdf: bytes) -> list[str]:
    return [page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages]


def _fonts(pdf: bytes) -> dict[str, bool]:
    """Every font of the document, and whether its program is inside (ISO 32000-1, 9.9: FontFile, 2 or 3)."""
    found = {}
    for page in PdfReader(io.BytesIO(pdf)).pages:
        resources: Any = page["/Resources"]
        for entry in resources["/Font"].values():
            font = entry.get_object()
            descriptor = font["/DescendantFonts"][0].get_object()["/FontDescriptor"]
            found[font["/BaseFont"]] = any(key in descriptor for key in ("/FontFile", "/FontFile2", "/FontFile3"))
    return found


def test_the_stressed_syllable_of_each_content_word_is_marked() -> None:
    assert _capitals(Line("L001", "We expected a banana.", 0, True)) == "we exPECted a baNAna."
    assert _capitals(Line("L001", "Say the v and the w.", 0, True)) == "SAY the V and the W."


def test_the_teachers_marks_stand_over_the_rule() -> None:
    whole = Line("L001", "We expected a banana.", 0, True, (Mark("stress", 0, 2),))
    assert _capitals(whole) == "WE expected a banana."
    part = Line("L001", "We expected a banana.", 0, True, (Mark("stress", 5, 8),))
    assert _capitals(part) == "we exPECted a banana."


def test_weak_forms_are_weak_in_the_phonetic_line() -> None:
    assert phonetic(stress_of(Line("L001", "A van was at the wall, and we waved.", 0, True))) == (
        "/ə væn wəz ət ðə wɔːl | ən wi weɪvd/"
    )


def test_a_moment_of_the_lesson_is_named_as_media_fragments_name_it() -> None:
    """W3C Media Fragments URI 1.0, 4.2.1: ``#t=10`` and fractions of seconds."""
    assert link_to(URL, 12300) == f"{URL}#t=12.3"
    assert link_to(f"{URL}#part", 12300) == f"{URL}#part"


def test_the_sheet_has_every_line_once_with_its_place_in_the_model_reading() -> None:
    programme, _ = studied()
    page = sheet(programme)
    assert [line.text for line in page.lines] == [line.text for line in lesson_script().passage]
    for line in page.lines:
        assert "".join(p.text for p in line.pieces).replace(" ", "") == line.text.replace(" ", "")
    assert page.lines[0].time == "0:00"
    assert page.phrases == (("a glass of water", 6), ("Wait a moment", 14))
    assert page.sounds == ("/v/", "/w/")


def test_without_a_study_there_is_no_handout() -> None:
    with pytest.raises(NotPossible):
        handout_html(harbour())


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_twenty_lines_without_options_fill_one_page(paper: Paper) -> None:
    programme, _ = studied(sounds="")
    pages = _pages(handout_pdf(replace(programme, choices=Choices(paper=paper))))
    assert len(pages) == 1


def test_the_pdf_says_what_the_script_says_and_embeds_its_fonts() -> None:
    programme, _ = studied()
    pdf = handout_pdf(replace(programme, choices=Choices(ipa=True, bars=False, ties=False, url=URL)))
    # Letters only: frames and underlines may part a word for the extractor.
    text = re.sub(r"\W", "", "".join(_pages(pdf)))
    for line in lesson_script().passage:
        assert re.sub(r"\W", "", line.text) in text
    fonts = _fonts(pdf)
    assert fonts
    assert all(fonts.values())


def test_no_phonetic_sign_is_missing_from_the_page() -> None:
    programme, _ = studied()
    page = sheet(replace(programme, choices=Choices(ipa=True)))
    wanted = {char for line in page.lines for char in (line.ipa or "") if not char.isspace()}
    assert {"ə", "ɪ", "ʊ", "ː", "ˈ", "ð", "w"} <= wanted
    pdf = handout_pdf(replace(programme, choices=Choices(ipa=True)))
    assert wanted <= set("".join(_pages(pdf)))
    assert set(_fonts(pdf)) and all("Libertinus" in name for name in _fonts(pdf))


def test_nothing_leaves_the_page() -> None:
    """Every piece of text starts inside the paper's margins of 16 mm (1 pt = 1/72 inch)."""
    programme, _ = studied(voiced=True)
    margin = 16 / 25.4 * 72 - 1
    starts: list[float] = []

    def visit(text: str, cm: list[float], tm: list[float], *_: object) -> None:
        if text.strip():
            starts.append(tm[4] * cm[0] + cm[4])

    pdf = PdfReader(io.BytesIO(handout_pdf(replace(programme, choices=Choices(ipa=True, melody=True, url=URL)))))
    for page in pdf.pages:
        page.extract_text(visitor_text=visit)
    assert min(starts) >= margin
    assert max(starts) <= float(pdf.pages[0].mediabox.width) - margin


def test_a_word_without_end_is_broken_at_the_margin() -> None:
    """Nothing is set so wide that it leaves the paper: the extractor finds the word in two rows and more."""
    programme, _ = studied("Very" * 60 + " wide.", sounds="v/w")
    page = PdfReader(io.BytesIO(handout_pdf(programme))).pages[0]
    rows = [row for row in page.extract_text().splitlines() if "eryV" in row.replace(" ", "")]
    assert len(rows) >= 2
    assert "overflow-wrap: anywhere" in handout_html(programme)


def test_the_same_sheet_makes_the_same_bytes() -> None:
    programme, _ = studied()
    assert handout_pdf(programme) == handout_pdf(programme)


def test_links_lead_into_the_lesson() -> None:
    programme, _ = studied()
    page = PdfReader(io.BytesIO(handout_pdf(replace(programme, choices=Choices(url=URL))))).pages[0]
    notes: Any = page["/Annots"]
    targets = {note.get_object()["/A"]["/URI"] for note in notes}
    assert URL in targets
    assert any(target.startswith(f"{URL}#t=") for target in targets)


class _Balanced(HTMLParser):
    """Checks that every element is closed in its order."""

    VOID = ("meta", "line", "polyline", "br")

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.text: list[str] = []

    def handle_starttag(self, tag: str, attrs: object) -> None:  # noqa: ARG002
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if tag not in self.VOID:
            assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if "style" not in self.open:
            self.text.append(data)


@pytest.mark.parametrize("passage", [None, AWKWARD])
def test_the_html_is_well_formed_and_says_what_the_script_says(passage: str | None) -> None:
    programme, _ = studied(voiced=True) if passage is None else studied(passage)
    html = handout_html(replace(programme, choices=Choices(ipa=True, melody=True, bars=False, ties=False, url=URL)))
    parser = _Balanced()
    parser.feed(html)
    assert parser.open == []
    said = "".join(parser.text)
    for line in programme.study.passage if programme.study else ():
        assert line.text in said
    assert "http" not in re.sub(rf"{URL}|http://www.w3.org/2000/svg", "", html), "nothing may be fetched"
    for drawing in re.findall(r"<svg.*?</svg>", html):
        ElementTree.fromstring(drawing)


def test_marks_differ_by_more_than_colour() -> None:
    programme, _ = studied()
    html = handout_html(programme)
    assert "<b>" in html
    assert '<b class="focus">' in html
    assert 'class="phrase"' in html
    colours = set(re.findall(r"color: (#?\w+)", html))
    assert colours <= {"#111", "inherit"}


@pytest.mark.parametrize("passage", [None, AWKWARD])
def test_the_markdown_renders_to_the_scripts_words(passage: str | None) -> None:
    programme, _ = studied(sounds="") if passage is None else studied(passage, sounds="")
    rendered = MarkdownIt("commonmark").render(
        handout_markdown(replace(programme, choices=Choices(bars=False, ties=False)))
    )
    parser = _Balanced()
    parser.feed(rendered)
    said = " ".join("".join(parser.text).split())
    for line in programme.study.passage if programme.study else ():
        assert " ".join(line.text.split()) in said
    assert "<strong>" in rendered


def test_the_markdown_with_sounds_renders_to_words_and_numbers() -> None:
    """Stars that close nothing would show. A sound's number stands behind its letters."""
    programme, _ = studied("The waves and **waves** are __very **wavy**__, over.\nWe **wait**, and wave **back**.")
    rendered = MarkdownIt("commonmark").render(
        handout_markdown(replace(programme, choices=Choices(bars=False, ties=False)))
    )
    parser = _Balanced()
    parser.feed(rendered)
    said = " ".join("".join(parser.text).split())
    assert "*" not in said
    for line in programme.study.passage if programme.study else ():
        assert line.text in re.sub(r"\(\d\)", "", said)
    assert "and w(2)ave(1)s are v(1)ery w(2)av(1)y, ov(1)er." in said
    assert "<strong>w(2)ave(1)s</strong>" in rendered


def test_no_line_of_the_pdf_ends_inside_a_word() -> None:
    """Frames are boxes, and a line may end at a box: the words of a narrow, crowded line stay whole."""
    programme, _ = studied("We wave at velvet vests and woven vans, whatever wavers, however wavy they were. " * 4)
    pdf = PdfReader(io.BytesIO(handout_pdf(programme)))
    words = {"wave", "velvet", "vests", "woven", "vans", "whatever", "wavers", "however", "wavy", "they", "were", "at"}
    rows: dict[float, list[tuple[float, str]]] = {}

    def visit(text: str, cm: list[float], tm: list[float], *_: object) -> None:
        rows.setdefault(round(tm[5] * cm[3] + cm[5]), []).append((tm[4] * cm[0] + cm[4], text))

    pdf.pages[0].extract_text(visitor_text=visit)
    ends = {"".join(text for _, text in sorted(row)).strip(" ,.|") for row in rows.values()}
    full = [end for end in ends if len(end) > 60 and "sound" not in end]  # not the legend
    assert len(full) >= 2
    assert {re.split(r"[\s‿|]+", end)[-1].strip(",.") for end in full} <= words


def test_a_language_without_a_dictionary_still_gets_its_lines() -> None:
    programme, _ = studied("Wir waren im Wald.\nWo war Eva?", language="de")
    page = sheet(programme)
    assert [line.text for line in page.lines] == ["Wir waren im Wald.", "Wo war Eva?"]
    assert not page.shows(1)
    assert len(_pages(handout_pdf(programme))) == 1


def test_very_long_lines_and_many_of_them_run_on_over_pages() -> None:
    programme, _ = studied("\n".join(["We wave and we wave and " * 6 + "we wave."] * 40))
    pages = _pages(handout_pdf(programme))
    assert len(pages) > 1
    assert sum(page.count("wave.") for page in pages) >= 40
