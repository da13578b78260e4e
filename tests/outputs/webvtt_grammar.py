"""A strict reader of WebVTT, clause by clause, that refuses what a lenient player would take.

Written from W3C WebVTT, https://www.w3.org/TR/webvtt1/, section 4 "Syntax"; the clause stands beside each check.
"""

from __future__ import annotations

import html
import re
from dataclasses import dataclass
from itertools import pairwise

_TIMESTAMP = r"(?:(\d{2,}):)?([0-5]\d):([0-5]\d)\.(\d{3})"
_TIMINGS = re.compile(rf"{_TIMESTAMP}[ \t]+-->[ \t]+{_TIMESTAMP}((?:[ \t]+\S+)*)")
_REFERENCE = re.compile(r"&(?:amp|lt|gt|lrm|rlm|nbsp|#\d+|#x[0-9a-fA-F]+);")
_SETTING = re.compile(r"(vertical|line|position|size|align|region):\S+")


class NotWebVTT(Exception):
    """The clause that the file breaks."""


@dataclass(frozen=True)
class Block:
    identifier: str | None
    start_ms: int
    end_ms: int
    lines: tuple[str, ...]
    """Plain text, character references resolved."""


def read(content: bytes, *, chapters: bool = False) -> tuple[Block, ...]:
    """The cues of a file of cue text without tags, or of chapter title text. Raises NotWebVTT."""
    text = content.decode("utf-8")  # 4.1: "encoded as UTF-8"
    text = text.removeprefix("\ufeff")  # 4.1.1: "An optional U+FEFF BYTE ORDER MARK"
    _check("\0" not in text, "4.1: no U+0000")
    lines = re.split(r"\r\n|\n|\r", text)  # 4.1: line terminators
    _check(re.fullmatch(r"WEBVTT(?:[ \t].*)?", lines[0]), '4.1.2: the string "WEBVTT", then space or tab and text')
    _check(len(lines) > 2 and lines[1] == "", "4.1.4: two or more line terminators after the header")
    blocks = [_block(raw) for raw in _blocks(lines[2:])]
    cues = [block for block in blocks if block is not None]
    for one, other in pairwise(cues):
        _check(other.start_ms >= one.start_ms, "4.1 cue timings: start not before any previous start")
    names = [cue.identifier for cue in cues if cue.identifier is not None]
    _check(len(names) == len(set(names)), "4.1 cue identifier: unique in the file")
    if chapters:
        _check_nested(cues)
    return tuple(cues)


def _blocks(lines: list[str]) -> list[list[str]]:
    found: list[list[str]] = [[]]
    for line in lines:
        if line:
            found[-1].append(line)
        elif found[-1]:
            found.append([])
    return [block for block in found if block]


def _block(lines: list[str]) -> Block | None:
    if re.fullmatch(r"NOTE(?:[ \t].*)?", lines[0]):
        _check(not any("-->" in line for line in lines), '4.1 comment block: no "-->"')
        return None
    identifier = None
    if "-->" not in lines[0]:
        identifier, *lines = lines
    _check(lines, "4.1 cue block: timings after the identifier")
    match = _TIMINGS.fullmatch(lines[0])
    if match is None:
        raise NotWebVTT(f"4.1 cue timings: {lines[0]!r}")
    start_ms, end_ms = _ms(match.groups()[:4]), _ms(match.groups()[4:8])
    _check(end_ms > start_ms, "4.1 cue timings: end after start")
    settings = match.group(9).split()
    _check(all(_SETTING.fullmatch(setting) for setting in settings), "4.4: known cue settings")
    _check(len({setting.split(":")[0] for setting in settings}) == len(settings), "4.4: each setting once")
    payload = lines[1:]
    _check(payload, "4.1 cue block: a payload that is not empty")
    for line in payload:
        _check("-->" not in line, '4.1 cue block: no "-->" in the payload')
        _check("<" not in line and not _REFERENCE.sub("", line).count("&"), "4.2.2 cue text span: no bare & or <")
    return Block(identifier, start_ms, end_ms, tuple(html.unescape(line) for line in payload))


def _ms(groups: tuple[str | None, ...]) -> int:
    hours, minutes, seconds, thousandths = (int(group or 0) for group in groups)
    return ((hours * 60 + minutes) * 60 + seconds) * 1000 + thousandths


def _check_nested(cues: list[Block]) -> None:
    """4.6.1 "WebVTT file using only nested cues": any two cues lie apart or one inside the other."""
    for at, one in enumerate(cues):
        for other in cues[at + 1 :]:
            apart = other.start_ms >= one.end_ms
            inside = other.end_ms <= one.end_ms
            _check(apart or inside, "4.6.1: only nested cues")


def _check(holds: object, clause: str) -> None:
    if not holds:
        raise NotWebVTT(clause)
