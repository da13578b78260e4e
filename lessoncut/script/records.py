"""What was meant to be said."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from lessoncut import wording
from lessoncut.wording import Saying, Token

MarkKind = Literal["stress", "phrase"]


@dataclass(frozen=True)
class Mark:
    """The teacher's mark on characters ``[start, end)`` of a line's text: sentence stress, or a key phrase."""

    kind: MarkKind
    start: int
    end: int


@dataclass(frozen=True)
class Unsaid:
    """Characters ``[start, end)`` of a line's text that are not for the ear: a speaker's name, a direction."""

    start: int
    end: int


@dataclass(frozen=True)
class Line:
    """One sentence of the script (or a thought group, where a sentence was split).

    ``id`` is ``L001``, ``L002``... over all spoken lines in script order. ``text`` carries no markup.
    """

    id: str
    text: str
    section: int
    """Index into ``Script.sections``."""
    in_passage: bool
    marks: tuple[Mark, ...] = ()
    source_line: int | None = None
    """The line of the script file (or paragraph of the document) it stands on, from 1."""
    sayings: tuple[Saying, ...] = ()
    """How the take says its numbers, times and dates, where that is not the ordinary way."""
    unsaid: tuple[Unsaid, ...] = ()
    """What the take leaves out of it, in order."""

    @property
    def tokens(self) -> tuple[Token, ...]:
        """What is said of the line, in order."""
        found = wording.tokens(self.text, self.sayings)
        return tuple(token for token in found if not any(part.start <= token.start < part.end for part in self.unsaid))

    @property
    def spoken(self) -> tuple[str, ...]:
        """The words that are said for the line."""
        return tuple(word for token in self.tokens for word in token.spoken)

    def as_said(self, start: int, end: int) -> str:
        """What is written from ``start`` to ``end``, without what the take leaves out of it."""
        bounds = [start, *(at for part in self.unsaid for at in (part.start, part.end)), end]
        inside = [min(max(at, start), end) for at in bounds]
        return " ".join("".join(self.text[a:b] for a, b in zip(inside[::2], inside[1::2], strict=True)).split())


@dataclass(frozen=True)
class Section:
    """A part of the script that becomes a chapter. ``passage`` is the part read twice."""

    title: str
    passage: bool = False


@dataclass(frozen=True)
class Script:
    title: str
    sections: tuple[Section, ...]
    lines: tuple[Line, ...]

    @property
    def passage(self) -> tuple[Line, ...]:
        return tuple(line for line in self.lines if line.in_passage)

    def line(self, line_id: str) -> Line:
        """Raises KeyError for an id that is not in this script."""
        for line in self.lines:
            if line.id == line_id:
                return line
        raise KeyError(line_id)
