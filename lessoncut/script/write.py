"""A script as Markdown; reading it again gives the same script."""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import pairwise

from lessoncut.script.records import Line, MarkKind, Script

_SIGNS: dict[MarkKind, str] = {"stress": "**", "phrase": "=="}
_SPECIAL = re.compile(r"[\\`*_\[\]<>=|~&]")
_SPECIAL_IN_TITLE = re.compile(r"[\\`*_\[\]<>=|~&#{}+-]")
_OPENS_BLOCK = re.compile(r"^(?:[#+-]|\d+(?P<dot>[.)]))")
_PUNCTUATION = frozenset("!\"#$%&'()*+,-./:;<=>?@[\\]^_`{|}~")


def to_markdown(script: Script, note: str = "") -> str:
    """The script as a Markdown file, ``note`` as a comment at its top.

    Every line of the script stands in a paragraph of its own.
    """
    parts = [f"<!--\n{_as_comment(note)}\n-->"] if note else []
    parts.append(f"# {_escaped_title(script.title)}")
    inside = False
    for index, section in enumerate(script.sections):
        deeper = section.passage and inside
        attribute = " {.passage}" if section.passage and not deeper else ""
        parts.append(f"{'###' if deeper else '##'} {_escaped_title(section.title)}{attribute}")
        parts += (marked_up(line) for line in script.lines if line.section == index)
        inside = section.passage
    return "\n\n".join(parts) + "\n"


@dataclass(frozen=True)
class _Sign:
    kind: MarkKind
    opens: bool


def marked_up(line: Line) -> str:
    """The line's text as Markdown, with its marks.

    CommonMark lets a sign between a letter and punctuation face the letter only. Where a mark needs it the other way
    round, that letter is written as a character reference, which begins and ends in punctuation. So is a space that
    a mark begins with because another mark that it crosses ends there.
    """
    texts, signs = _split(line)
    tails = _referenced_tails(texts, signs)
    written = ""
    for place, text in enumerate(texts):
        before = signs[place]
        head = bool(before) and (
            text[0].isspace() if before[-1].opens else len(before) > 1 or not written[-1:].isalnum()
        )
        written += "".join(_SIGNS[sign.kind] for sign in before) + _escaped(text, head=head, tail=tails[place])
    return _block_safe(written + "".join(_SIGNS[sign.kind] for sign in signs[-1]))


def _referenced_tails(texts: list[str], signs: list[list[_Sign]]) -> list[bool]:
    """Whether each piece's last character must be a reference for the sign after it to open."""
    tails = [False] * len(texts)
    for place in range(len(texts) - 2, -1, -1):
        after, following = signs[place + 1], texts[place + 1]
        letter_follows = following[0].isalnum() and not (len(following) == 1 and tails[place + 1])
        opens = bool(after) and after[0].opens and not texts[place][-1].isspace()
        tails[place] = opens and (len(after) > 1 or not letter_follows)
    return tails


def _split(line: Line) -> tuple[list[str], list[list[_Sign]]]:
    """The text cut at every mark's edge, and the signs before, between and after the pieces, properly nested."""
    edges = sorted({0, len(line.text), *(edge for mark in line.marks for edge in (mark.start, mark.end))})
    ends: dict[MarkKind, int] = {}
    nest: list[MarkKind] = []
    signs: list[list[_Sign]] = []
    for start in edges:
        here: list[_Sign] = []
        ends = {mark.kind: mark.end for mark in line.marks if mark.start <= start < mark.end}
        while any(kind not in ends for kind in nest):
            here.append(_Sign(nest.pop(), opens=False))
        for kind in sorted(ends, key=lambda kind: (-ends[kind], kind)):
            if kind not in nest:
                nest.append(kind)
                here.append(_Sign(kind, opens=True))
        signs.append(here)
    return [line.text[start:end] for start, end in pairwise(edges)], signs


def _escaped(text: str, *, head: bool, tail: bool) -> str:
    """``head`` and ``tail``: write that end as a character reference, unless it is punctuation."""
    signs = [_SPECIAL.sub(r"\\\g<0>", char) for char in text]
    for wanted, place in ((head, 0), (tail, -1)):
        if wanted and text[place] not in _PUNCTUATION:
            signs[place] = f"&#{ord(text[place])};"
    return "".join(signs)


def _escaped_title(title: str) -> str:
    return _SPECIAL_IN_TITLE.sub(r"\\\g<0>", title)


def _block_safe(written: str) -> str:
    """A paragraph that Markdown cannot take for a list, a heading or a rule."""
    found = _OPENS_BLOCK.match(written)
    at = max(0, found.start("dot")) if found else 0
    return f"{written[:at]}\\{written[at:]}" if found else written


def _as_comment(note: str) -> str:
    return note.strip().replace("-->", "-- >")
