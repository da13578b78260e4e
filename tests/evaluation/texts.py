"""The invented texts that lessons are made of, read from ``texts/<family>.txt``.

In those files ``= passage | Title`` begins a block; ``{7:30|seven thirty}`` is written one way and said another;
``[house/office]`` is a word and what a careless reader says for it; ``@held v`` is a sound held there.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Literal

Family = Literal[
    "dev",
    "held",
    "fresh",
    "fresh2",
    "fresh3",
    "fresh4",
    "fresh5",
    "fresh6",
    "fresh7",
    "fresh8",
    "fresh9",
    "fresh10",
    "fresh11",
    "fresh12",
    "fresh13",
    "fresh14",
    "fresh15",
    "fresh16",
    "fresh17",
    "fresh18",
    "fresh19",
    "fresh20",
    "fresh21",
    "fresh22",
    "fresh23",
    "fresh24",
    "fresh25",
    "fresh26",
    "fresh27",
    "fresh28",
    "fresh29",
    "fresh30",
    "fresh31",
    "fresh32",
    "fresh33",
]
"""``dev`` is for work, ``held`` for checks. The others were written by somebody who had not seen the matching, and
first drawn before anybody looked at them; since then they have been used for mending.
"""
_NUMBER = re.compile(r"\{([^|}]*)\|([^}]*)\}")
_CHOICE = re.compile(r"\[([^/\]]*)/([^\]]*)\]")


@dataclass(frozen=True)
class Line:
    """``changed`` is the line as a careless reader says it, None where no such reading is foreseen.

    ``hold`` names a sound held for demonstration after the line. ``altered`` says that ``spoken`` is not what is
    written: every reading is a misreading. What is not ``breakable`` cannot be a false start.
    """

    written: str
    spoken: str
    changed: str | None = None
    hold: str | None = None
    altered: bool = False
    breakable: bool = True


@dataclass(frozen=True)
class Block:
    kind: str
    title: str
    lines: tuple[Line, ...]


@dataclass(frozen=True)
class Texts:
    """All blocks of one family, by kind: passage, pair, opening, ending, talk, again, pickup, whisper."""

    blocks: tuple[Block, ...]

    def of(self, kind: str) -> tuple[Block, ...]:
        return tuple(block for block in self.blocks if block.kind == kind)

    def says(self, kind: str) -> tuple[str, ...]:
        return tuple(line.spoken for block in self.of(kind) for line in block.lines)


def parsed_line(marked: str) -> Line:
    said = _NUMBER.sub(r"\2", marked)
    spoken = _CHOICE.sub(r"\1", said)
    changed = _CHOICE.sub(r"\2", said)
    return Line(_CHOICE.sub(r"\1", _NUMBER.sub(r"\1", marked)), spoken, changed if changed != spoken else None)


def parsed(text: str) -> Texts:
    blocks: list[Block] = []
    for row in (row.strip() for row in text.splitlines()):
        if row.startswith("="):
            kind, _, title = row[1:].partition("|")
            blocks.append(Block(kind.strip(), title.strip(), ()))
        elif row.startswith("@held "):
            block = blocks[-1]
            last = block.lines[-1]
            held = Line(last.written, last.spoken, last.changed, row.removeprefix("@held "))
            blocks[-1] = Block(block.kind, block.title, (*block.lines[:-1], held))
        elif row:
            block = blocks[-1]
            blocks[-1] = Block(block.kind, block.title, (*block.lines, parsed_line(row)))
    return Texts(tuple(blocks))


@cache
def texts(family: Family) -> Texts:
    return parsed((Path(__file__).parent / "texts" / f"{family}.txt").read_text(encoding="utf-8"))
