"""What of the script this take leaves unsaid: who speaks, as in ``Nora: Who is there?``, and directions in brackets.

Both may also be read out, and only the take tells: a row of words with something in it that nobody said is less like
what was heard than the row without it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from lessoncut import wording
from lessoncut.script.records import Line, Script, Unsaid

LEAST_ALIKE = 0.7
"""What was heard must be so like the rest of a line for it to tell anything."""
UNSAID_SHARE = 0.3
"""A row with something unsaid in it loses so much at least of what that something is of the row."""
OFTEN = 2
"""A name that stands before so many lines is a speaker's; before one, it is if another's is."""

_SPEAKER = re.compile(r"(?=[^\W\d_])(?P<name>[^\s:.!?,;]+(?: [^\s:.!?,;]+){0,2})\s?:(?=\s)")
_BRACKETED = re.compile(r"\((?=[a-zA-Z]{3})[^()]*\)|\[(?=[a-zA-Z]{3})[^][]*\]")
"""Not the signs of sounds, nor letters that things are called by."""

_Part = tuple[int, Unsaid]
"""The place of a line, and what may be left unsaid of it."""


def without_unsaid(script: Script, heard: Sequence[str]) -> Script:
    """The script with nothing said for what the take leaves out. ``heard``: all its words, as they are said."""
    text = " ".join(heard)
    speakers = _speakers(script)
    names = {name for name, parts in speakers.items() if _left_out(script, parts, text)}
    if not any(len(speakers[name]) >= OFTEN for name in names):
        names = set()
    found = [part for name, parts in speakers.items() if name in names for part in parts]
    found += [part for part in _bracketed(script) if _left_out(script, [part], text)]
    lines = list(script.lines)
    for place, part in found:
        lines[place] = _without(lines[place], part)
    return replace(script, lines=tuple(lines))


def _speakers(script: Script) -> dict[str, list[_Part]]:
    """The places of what may be a speaker's name, by name."""
    found: dict[str, list[_Part]] = {}
    for place, line in enumerate(script.lines):
        match = _SPEAKER.match(line.text)
        if match and match["name"][0].isupper():
            found.setdefault(match["name"].casefold(), []).append((place, Unsaid(0, match.end())))
    return found


def _bracketed(script: Script) -> list[_Part]:
    return [
        (place, Unsaid(match.start(), match.end()))
        for place, line in enumerate(script.lines)
        for match in _BRACKETED.finditer(line.text)
    ]


def _without(line: Line, part: Unsaid) -> Line:
    if any(known.start <= part.start < known.end for known in line.unsaid):
        return line
    return replace(line, unsaid=(*line.unsaid, part))


def _left_out(script: Script, parts: Sequence[_Part], text: str) -> bool:
    """Whether the rows of words lose as much by these parts as they do by what nobody says."""
    lost = whole = 0.0
    for place, part in parts:
        line = script.lines[place]
        rest = _without(line, part)
        if rest.spoken == line.spoken or not rest.spoken or not text:
            continue
        without = wording.place_in(rest.spoken, text).likeness
        if without >= LEAST_ALIKE:
            lost += without - wording.place_in(line.spoken, text).likeness
            whole += 1 - len(" ".join(rest.spoken)) / len(" ".join(line.spoken))
    return whole > 0 and lost > UNSAID_SHARE * whole
