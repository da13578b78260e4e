"""SRT, ASS and TTML captions, each read back by a library that is not ours."""

from __future__ import annotations

import io
import re
from datetime import timedelta
from xml.etree import ElementTree

import pysubs2
import pytest
import srt
import ttconv.imsc.reader
from lxml import etree
from ttconv.model import ContentDocument
from ttconv.model import P as Paragraph

from lessoncut.outputs.captions import BOX_RGB, TEXT_RGB
from lessoncut.outputs.captions_ass import captions_ass
from lessoncut.outputs.captions_srt import captions_srt
from lessoncut.outputs.captions_ttml import captions_ttml
from lessoncut.outputs.programme import Programme
from tests.outputs.programmes import harbour, programme, said

TTML = "{http://www.w3.org/ns/ttml}"
TTP = "{http://www.w3.org/ns/ttml#parameter}"
TTS = "{http://www.w3.org/ns/ttml#styling}"
XML = "{http://www.w3.org/XML/1998/namespace}"
AWKWARD = [
    "{\\an8}top {\\b1}bold{\\b0}",
    "back\\slash \\N and \\n and \\h",
    "<b>bold</b> <font color=red>red</font>",
    "1 --> 2 & 3 < 4",
    "12",
    "\"quoted\" 'twice' ]]> &amp;",
    "a\x0bb\u2028c",
]


def spans(made: Programme) -> list[tuple[int, int]]:
    track = made.captions
    return [(track.span(cue).start_ms, track.span(cue).end_ms) for cue in track.cues]


def awkward(text: str) -> Programme:
    return programme([said(0, text, 1000, 2000, line_id="L001")], title=text, duration_ms=30_000)


def test_srt_is_what_the_srt_package_reads_and_would_write() -> None:
    made = harbour()
    content = captions_srt(made)
    read = list(srt.parse(content))
    assert [(one.start, one.end) for one in read] == [
        (timedelta(milliseconds=start), timedelta(milliseconds=end)) for start, end in spans(made)
    ]
    assert [one.index for one in read] == list(range(1, len(read) + 1))
    assert srt.compose(read, eol="\r\n").strip() == content.strip()
    assert "\n" not in content.replace("\r\n", "")


@pytest.mark.parametrize("text", AWKWARD)
def test_no_script_text_styles_or_breaks_an_srt_cue(text: str) -> None:
    content = captions_srt(awkward(text))
    (read,) = srt.parse(content)
    assert not re.search(r"[<>{}\\]", read.content)
    assert visible(read.content) == visible(text)


@pytest.mark.parametrize("text", AWKWARD)
def test_no_script_text_is_lost_or_obeyed_in_ass(text: str) -> None:
    (event,) = pysubs2.SSAFile.from_string(captions_ass(awkward(text))).events
    assert visible(event.plaintext) == visible(text), "an override block would be taken out of the plain text"


def visible(text: str) -> str:
    """Letters, digits and signs that no format minds, in order."""
    return "".join(re.findall(r"[\w&;'\"=\-\]]", text))


def test_ass_is_read_back_by_pysubs2_to_the_hundredth() -> None:
    made = harbour()
    read = pysubs2.SSAFile.from_string(captions_ass(made))
    assert [event.plaintext.split("\n") for event in read.events] == [list(cue.texts) for cue in made.captions.cues]
    for event, (start_ms, end_ms) in zip(read.events, spans(made), strict=True):
        assert abs(event.start - start_ms) <= 5
        assert abs(event.end - end_ms) <= 5
    assert read.info["Title"] == "Ship & sheep: {\\b1}vowels"
    style = read.styles["Default"]
    assert (style.primarycolor, style.borderstyle) == (pysubs2.Color(255, 255, 255), 3)
    assert style.outlinecolor == pysubs2.Color(0, 0, 0)


def test_the_colours_have_the_contrast_of_wcag() -> None:
    """White on black is 21 to 1; WCAG 2.1 asks for 4.5 (1.4.3, AA) and 7 (1.4.6, AAA). Formula: WCAG 2.1, glossary."""

    def luminance(rgb: tuple[int, int, int]) -> float:
        parts = [value / 255 for value in rgb]
        linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    def contrast(one: tuple[int, int, int], other: tuple[int, int, int]) -> float:
        darker, lighter = sorted((luminance(one), luminance(other)))
        return (lighter + 0.05) / (darker + 0.05)

    assert contrast((0x76, 0x76, 0x76), (255, 255, 255)) == pytest.approx(4.542, abs=0.001), "a known value first"
    assert contrast(TEXT_RGB, BOX_RGB) == pytest.approx(21.0)


# ---- TTML: clauses of IMSC 1.1 (https://www.w3.org/TR/ttml-imsc1.1/) and TTML2 (https://www.w3.org/TR/ttml2/)


def ttml(made: Programme) -> etree._Element:
    return etree.fromstring(captions_ttml(made).encode())


def test_ttml_says_its_profile_language_and_time_base() -> None:
    content = captions_ttml(harbour())
    assert content.startswith('<?xml version="1.0" encoding="UTF-8"?>'), "IMSC 1.1, 6.2: UTF-8"
    root = etree.fromstring(content.encode())
    assert root.tag == f"{TTML}tt"
    assert root.get(f"{TTP}contentProfiles") == "http://www.w3.org/ns/ttml/profile/imsc1.1/text", "IMSC 1.1, 6.9"
    assert root.get(f"{TTP}timeBase") == "media", "IMSC 1.1: smpte and clock are not for a file beside its media"
    assert root.get(f"{XML}lang") == "en-GB", "TTML2, 8.1.1: xml:lang is required on tt"


def test_ttml_has_one_region_inside_the_picture() -> None:
    """IMSC 1.1, 8.2: no more than four presented regions, none overlapping, all inside the root container."""
    (region,) = ttml(harbour()).iter(f"{TTML}region")
    origin = [float(part.rstrip("%")) for part in str(region.get(f"{TTS}origin")).split()]
    extent = [float(part.rstrip("%")) for part in str(region.get(f"{TTS}extent")).split()]
    assert all(start >= 0 and start + size <= 100 for start, size in zip(origin, extent, strict=True))


def test_ttml_times_are_clock_times_in_order_and_apart() -> None:
    """IMSC 1.1, 6.10: frames need ttp:frameRate; clock times with a fraction do not."""
    made = harbour()
    found = []
    for paragraph in ttml(made).iter(f"{TTML}p"):
        begin, end = str(paragraph.get("begin")), str(paragraph.get("end"))
        assert re.fullmatch(r"\d{2,}:[0-5]\d:[0-5]\d\.\d{3}", begin)
        found.append((clock_ms(begin), clock_ms(end)))
    assert found == spans(made)


def clock_ms(written: str) -> int:
    hours, minutes, seconds = written.split(":")
    return round((int(hours) * 3600 + int(minutes) * 60) * 1000 + float(seconds) * 1000)


def test_every_reference_in_ttml_has_its_target_and_every_id_is_unique() -> None:
    root = ttml(harbour())
    ids = [str(element.get(f"{XML}id")) for element in root.iter() if element.get(f"{XML}id")]
    assert len(ids) == len(set(ids))
    for element in root.iter():
        for name in ("style", "region"):
            assert element.get(name) is None or element.get(name) in ids


def test_ttml_uses_only_elements_and_attributes_of_the_text_profile() -> None:
    """Elements of the core vocabulary (TTML2, table 5-3) and the attributes that IMSC 1.1, 8.4 permits, as we use."""
    elements = {
        "tt",
        "head",
        "metadata",
        "title",
        "styling",
        "style",
        "layout",
        "region",
        "body",
        "div",
        "p",
        "span",
        "br",
    }
    for element in ttml(harbour()).iter():
        assert etree.QName(element).localname in elements


@pytest.mark.parametrize("text", AWKWARD)
def test_no_script_text_breaks_ttml(text: str) -> None:
    root = ttml(awkward(text))
    shown = "".join(" ".join(paragraph.itertext()) for paragraph in root.iter(f"{TTML}p"))
    assert visible(shown) == visible(text)
    assert "".join(shown.split()) == "".join(text.split())


def test_the_imsc_reader_of_ttconv_finds_the_same_cues() -> None:
    """ttconv is an open reference model of TTML2/IMSC; its reader drops what the profile does not know."""
    made = harbour()
    document = ttconv.imsc.reader.to_model(ElementTree.parse(io.BytesIO(captions_ttml(made).encode())))
    assert isinstance(document, ContentDocument)
    body = document.get_body()
    assert body is not None
    paragraphs = [element for element in body.dfs_iterator() if isinstance(element, Paragraph)]
    times = [(p.get_begin(), p.get_end()) for p in paragraphs]
    assert [(round(float(begin or 0) * 1000), round(float(end or 0) * 1000)) for begin, end in times] == spans(made)
    assert document.get_lang() == "en-GB"
    assert all(paragraph.get_lang() == "en-GB" for paragraph in paragraphs)
