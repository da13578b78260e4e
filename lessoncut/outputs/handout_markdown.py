"""The handout as plain Markdown: stressed syllables bold, key phrases in italics."""

from __future__ import annotations

import re
from collections.abc import Iterable
from itertools import groupby

from lessoncut.outputs.base import Output, Programme
from lessoncut.outputs.handout import Piece, Sheet, SheetLine, sheet
from lessoncut.outputs.left_out import of_plain_sheet

_SPECIAL = re.compile(r"([\\`*_{}\[\]<>#|~])")


def handout_markdown(programme: Programme) -> str:
    """CommonMark without HTML; melody drawings and room to write need a page and are left out."""
    page = sheet(programme)
    parts = [f"# {_plain(page.title)}", *([f"<{page.choices.url}>"] if page.choices.url else []), _key(page)]
    parts.append("\n".join(_line(line) for line in page.lines))
    if page.phrases:
        items = "\n".join(f"- {_plain(text)} ({number})" for text, number in page.phrases)
        parts += ["## Key phrases", items]
    if page.pairs:
        names = ", ".join(f"{a} and {b}" for a, b in page.pair_sounds)
        parts += [f"## Minimal pairs: {names}", "\n".join(f"- {first} – {second}" for first, second in page.pairs)]
    return "\n\n".join(parts) + "\n"


def _key(page: Sheet) -> str:
    entries = [
        (page.shows(1), "**bold**: stressed syllable"),
        (bool(page.phrases), "*italics*: key phrase"),
        (page.has("bar"), "\\|: a short stop"),
        (page.has("tie"), "‿: said as one"),
        *((True, f"({n}): {sound}") for n, sound in enumerate(page.sounds, start=1)),
    ]
    return "; ".join(says for shown, says in entries if shown)


def _line(line: SheetLine) -> str:
    text = "".join(
        _italic(_bold_runs(run)) if phrase else _bold_runs(run)
        for phrase, run in groupby(line.pieces, key=lambda piece: piece.phrase)
    )
    time = "" if line.time is None else f" [{line.time}]({line.link})" if line.link else f" ({line.time})"
    spoken = f"  \n   {line.ipa}" if line.ipa else ""
    return f"{line.number}. {text.strip()}{time}{spoken.replace('|', chr(92) + '|')}"


def _bold_runs(pieces: Iterable[Piece]) -> str:
    """Every stressed syllable between one pair of stars: neighbours that are bold each for itself show their stars.

    The number of a sound that ends one stands behind the stars, which close nothing after a sign and before a letter
    (CommonMark 0.31, right-flanking delimiter runs).
    """
    parts = []
    for bold, run in groupby(pieces, key=lambda piece: bool(piece.stress and piece.text.strip())):
        *before, last = run
        text = "".join(_piece(piece) + _number(piece) for piece in before) + _piece(last)
        parts.append((f"**{text}**" if bold else text) + _number(last))
    return "".join(parts)


def _piece(piece: Piece) -> str:
    if piece.kind != "text":
        return " \\| " if piece.kind == "bar" else "‿"
    return _plain(piece.text)


def _number(piece: Piece) -> str:
    return f"({piece.frame})" if piece.frame and piece.kind == "text" else ""


def _italic(text: str) -> str:
    return f"*{text}*"


def _plain(text: str) -> str:
    """The text with Markdown's signs taken for letters."""
    return _SPECIAL.sub(r"\\\1", text)


OUTPUT = Output(
    name="handout-markdown",
    says="the sheet for learners as plain text to build on",
    suffix=".md",
    make=handout_markdown,
    of_study=True,
    left_out=of_plain_sheet,
)
