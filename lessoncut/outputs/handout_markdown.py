"""The handout as plain Markdown: stressed syllables bold, key phrases in italics."""

from __future__ import annotations

import re
from itertools import groupby

from lessoncut.outputs.base import Output, Programme
from lessoncut.outputs.handout import Piece, Sheet, SheetLine, sheet

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
        _italic("".join(map(_piece, run))) if phrase else "".join(map(_piece, run))
        for phrase, run in ((p, list(r)) for p, r in groupby(_joined(line.pieces), key=lambda piece: piece.phrase))
    )
    time = "" if line.time is None else f" [{line.time}]({line.link})" if line.link else f" ({line.time})"
    spoken = f"  \n   {line.ipa}" if line.ipa else ""
    return f"{line.number}. {text.strip()}{time}{spoken.replace('|', chr(92) + '|')}"


def _joined(pieces: tuple[Piece, ...]) -> list[Piece]:
    """Neighbours that look alike in Markdown as one: a focus is bold like any stress."""
    alike = groupby(pieces, key=lambda p: (p.kind, bool(p.stress), p.phrase, p.frame))
    return [
        Piece("".join(piece.text for piece in run), kind, int(bold), phrase, frame)
        for (kind, bold, phrase, frame), run in alike
    ]


def _piece(piece: Piece) -> str:
    if piece.kind != "text":
        return " \\| " if piece.kind == "bar" else "‿"
    text = _plain(piece.text)
    if piece.stress and piece.text.strip():
        text = f"**{text}**"
    return f"{text}({piece.frame})" if piece.frame else text


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
)
