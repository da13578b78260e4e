"""What a script format gives back: headings, and paragraphs of marked text, in the order of the file."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Run:
    """Text of one marking. A newline in it ends a line of the script; other white space is only space."""

    text: str
    source_line: int
    """The line of the file (or paragraph of the document) where it begins, from 1."""
    stress: bool = False
    phrase: bool = False


@dataclass(frozen=True)
class Heading:
    """Level 1 is the script's title if no other heading stands before it; any other heading opens a section."""

    title: str
    level: int
    source_line: int
    passage: bool = False


@dataclass(frozen=True)
class Paragraph:
    runs: tuple[Run, ...]


Block = Heading | Paragraph

_PASSAGE_NAMES = ("passage", "the passage")
_PASSAGE_ATTRIBUTE = "{.passage}"


def named_heading(title: str, level: int, source_line: int) -> Heading:
    """A heading that marks the passage by its words: ``Passage``, ``Passage:``, or ``{.passage}`` after any title."""
    name = title.strip().removesuffix(_PASSAGE_ATTRIBUTE).rstrip()
    marked = name != title.strip() or name.rstrip(" :").casefold() in _PASSAGE_NAMES
    return Heading(name.rstrip(" :") or name, level, source_line, marked)
