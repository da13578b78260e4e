"""Plain text scripts.

Paragraphs stand between blank lines. The rules, in their order:

1. A line underlined with three or more ``=`` or ``-`` is a heading, and so is a line in square brackets: ``[Ending]``.
   All headings are of one level; only a first one underlined with ``=`` is the title.
2. The first paragraph is the title if it is one line without a stop at its end and something follows.
3. A later paragraph of one line is a heading if it is short (60 characters, 8 words), begins with a capital or a
   digit, has no stop at its end, and stands alone: the paragraphs before and after it are not short lines too, and the
   one after it is text. (A list of single words with blank lines between is a list, not a row of headings.)
4. A heading ``Passage`` or ``[Passage]`` marks the passage; so does ``{.passage}`` after any heading.
5. A mark at the start of a line (``-``, ``*``, ``•``, ``1.``, ``1)``) begins a line of the script and is not spoken.
6. A line end inside a paragraph is only a wrapped line if the next line goes on with a small letter, or if the line is
   60 characters or longer; otherwise it ends the sentence. A paragraph whose lines all have three words at most and no
   stop is a list of words: every line end counts.

Plain text has no marks: stars and the like are shown and not spoken.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from lessoncut.script.blocks import Block, Paragraph, Run, named_heading
from lessoncut.script.decode import decoded
from lessoncut.script.formats.base import ScriptFormat

HEADING_CHARACTERS = 60
HEADING_WORDS = 8
WRAPPED_FROM = 60
"""Characters from which a line is taken to go on in the next."""
LIST_WORDS = 3
_UNDERLINE = re.compile(r"\s*(={3,}|-{3,})\s*")
_BRACKETED = re.compile(r"\s*\[([^\[\]]+)\]\s*")
_ITEM = re.compile(r"\s*(?:[-*•‣◦–—]|\d{1,3}[.)])\s+(?=\S)")
_STOPPED = re.compile(r"[.!?…,;。！？]['\"’”»)]*$")


@dataclass(frozen=True)
class _Unit:
    """A paragraph as (line number, text), or a heading of this level."""

    lines: tuple[tuple[int, str], ...]
    heading_level: int = 0

    @property
    def first(self) -> str:
        return self.lines[0][1].strip()

    @property
    def may_be_heading(self) -> bool:
        one_line = len(self.lines) == 1 and not self.heading_level and not _ITEM.match(self.lines[0][1])
        short = len(self.first) <= HEADING_CHARACTERS and len(self.first.split()) <= HEADING_WORDS
        begins = self.first[0].isupper() or self.first[0].isdigit()
        return one_line and short and begins and not _STOPPED.search(self.first)


def blocks(content: bytes) -> Sequence[Block]:
    """Raises ScriptError for bytes that are not text."""
    units = _units(decoded(content).split("\n"))
    return tuple(_block(units, place) for place in range(len(units)))


def _units(lines: Sequence[str]) -> list[_Unit]:
    units: list[_Unit] = []
    paragraph: list[tuple[int, str]] = []
    skip = False
    for number, line in enumerate(lines, start=1):
        following = lines[number] if number < len(lines) else ""
        underline = _UNDERLINE.fullmatch(following) if line.strip() and not skip else None
        bracketed = _BRACKETED.fullmatch(line)
        if skip or not line.strip() or underline or bracketed:
            if paragraph:
                units.append(_Unit(tuple(paragraph)))
                paragraph = []
            if bracketed and not skip:
                units.append(_Unit(((number, bracketed.group(1)),), 2))
            elif underline:
                units.append(_Unit(((number, line),), 1 if "=" in underline.group(1) and not units else 2))
            skip = bool(underline)
        else:
            paragraph.append((number, line))
    return [*units, _Unit(tuple(paragraph))] if paragraph else units


def _block(units: Sequence[_Unit], place: int) -> Block:
    unit = units[place]
    number = unit.lines[0][0]
    heading = named_heading(unit.first, unit.heading_level or 2, number)
    if unit.heading_level or (unit.may_be_heading and heading.passage):
        return heading
    if place == 0 and _is_title(unit) and len(units) > 1:
        return named_heading(unit.first, 1, number)
    if unit.may_be_heading and _stands_alone(units, place):
        return heading
    return Paragraph(tuple(_runs(unit.lines)))


def _is_title(unit: _Unit) -> bool:
    return len(unit.lines) == 1 and not _STOPPED.search(unit.first) and not _ITEM.match(unit.lines[0][1])


def _stands_alone(units: Sequence[_Unit], place: int) -> bool:
    """Whether the short line has text after it and no other short line on either side, the title apart."""
    if place + 1 == len(units) or units[place + 1].heading_level or units[place + 1].may_be_heading:
        return False
    return place <= 1 or not units[place - 1].may_be_heading


def _runs(lines: Sequence[tuple[int, str]]) -> list[Run]:
    runs = []
    is_list = all(len(line.split()) <= LIST_WORDS and not _STOPPED.search(line.rstrip()) for _, line in lines)
    for place, (number, line) in enumerate(lines):
        following = lines[place + 1][1] if place + 1 < len(lines) else ""
        wrapped = (
            not is_list
            and not _ITEM.match(following)
            and (following.lstrip()[:1].islower() or len(line.rstrip()) >= WRAPPED_FROM)
        )
        runs.append(Run(_ITEM.sub("", line, count=1) + (" " if wrapped else "\n"), number))
    return runs


FORMAT = ScriptFormat("plain text", (".txt", ".text", ""), blocks)
