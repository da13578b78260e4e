"""The HTML handout as Chromium prints it."""

from __future__ import annotations

import io
from dataclasses import replace
from typing import Any

import pytest
from pypdf import PdfReader

from lessoncut.outputs.choices import Choices, Paper
from lessoncut.outputs.handout_html import handout_html
from tests.outputs.lessons import PASSAGE, studied

pytestmark = [pytest.mark.browser, pytest.mark.slow]

_POINTS: dict[Paper, tuple[int, int]] = {"a4": (595, 842), "letter": (612, 792)}
"""ISO 216 A4 and ANSI A, in points of 1/72 inch, rounded."""


def _printed(chromium: Any, html: str) -> list[Any]:
    page = chromium.new_page()
    page.set_content(html)
    pdf = page.pdf(prefer_css_page_size=True)
    page.close()
    return list(PdfReader(io.BytesIO(pdf)).pages)


@pytest.mark.parametrize("room", [True, False])
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_twenty_lines_fill_one_page(chromium: Any, paper: Paper, room: bool) -> None:
    programme, _ = studied(sounds="")
    pages = _printed(chromium, handout_html(replace(programme, choices=Choices(paper=paper, room=room))))
    assert len(pages) == 1
    box = pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx(_POINTS[paper], abs=1.5)


def test_forty_lines_with_everything_lose_none_over_the_pages(chromium: Any) -> None:
    """Every line's number stands on some page, and the minimal pairs begin one of their own."""
    programme, _ = studied(PASSAGE + PASSAGE.lstrip(), voiced=True)
    choices = Choices(ipa=True, melody=True, url="https://example.org/lessons/very-well")
    texts = [page.extract_text() for page in _printed(chromium, handout_html(replace(programme, choices=choices)))]
    numbers = {int(word) for text in texts for word in text.split() if word.isdigit()}
    assert set(range(1, 41)) <= numbers
    assert texts[-1].lstrip().startswith("Minimal pairs")
