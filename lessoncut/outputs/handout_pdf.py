"""The handout as PDF, set by Typst; the only home of typst.

The page is ``handout.typ``; it gets the sheet as JSON, so that no script text is ever read as markup. Typst carries the
fonts it sets (Libertinus Serif holds the phonetic alphabet) and embeds what the page uses.
"""

from __future__ import annotations

from importlib import resources

import typst

from lessoncut.codec import dumps, encode
from lessoncut.errors import ToolError
from lessoncut.outputs.base import Output, Programme
from lessoncut.outputs.choices import Paper
from lessoncut.outputs.handout import sheet
from lessoncut.outputs.left_out import of_sheet
from lessoncut.outputs.qr_code import qr_svg
from lessoncut.teaching.melody_svg import KEY, ROW_MM

_PAPER: dict[Paper, str] = {"a4": "a4", "letter": "us-letter"}


def handout_pdf(programme: Programme) -> bytes:
    """The same sheet always makes the same bytes. Raises ToolError where Typst cannot set the page."""
    page = sheet(programme)
    content = encode(page)
    content["paper"] = _PAPER[page.choices.paper]
    content["melody"] = {"row_mm": ROW_MM, "key": KEY}
    content["code"] = qr_svg(page.choices.url) if page.choices.url else None
    template = resources.files("lessoncut.outputs").joinpath("handout.typ").read_bytes()
    try:
        made: bytes = typst.compile(
            template, sys_inputs={"sheet": dumps(content)}, ignore_system_fonts=True, format="pdf"
        )
    except typst.TypstError as error:
        raise ToolError("the handout could not be set as PDF", hint=f"make the HTML one instead ({error})") from error
    return made


OUTPUT = Output(
    name="handout-pdf",
    says="the sheet for learners, ready to print",
    suffix=".pdf",
    make=handout_pdf,
    of_study=True,
    left_out=of_sheet,
)
