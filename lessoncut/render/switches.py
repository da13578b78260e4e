"""Which tracks of an MP4 play unasked: the enabled flag of ISO/IEC 14496-12 (``tkhd``, lowest bit).

ffmpeg enables the first track of every kind, whatever its disposition; captions are to wait until they are wanted.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

_CAPTIONS = b"sbtl"
_ENABLED = 1


def switch_captions_off(path: Path) -> None:
    """Every caption track stays in the file and is off until it is chosen."""
    with path.open("r+b") as file:
        for kind, start, end in _boxes(file, 0, path.stat().st_size):
            if kind != b"moov":
                continue
            for inner, first, last in _boxes(file, start, end):
                if inner == b"trak" and _handler(file, first, last) == _CAPTIONS:
                    _switch_off(file, first, last)


def _boxes(file: BinaryIO, start: int, end: int) -> Iterator[tuple[bytes, int, int]]:
    """Kind, and where the content begins and ends, of every box in ``[start, end)``."""
    while start + 8 <= end:
        file.seek(start)
        head = file.read(16)
        size, begins = int.from_bytes(head[:4], "big"), start + 8
        if size == 1:  # too large for 32 bits
            size, begins = int.from_bytes(head[8:16], "big"), start + 16
        stop = start + size if size else end  # 0: to the end of the file
        yield head[4:8], begins, stop
        start = max(stop, begins)


def _handler(file: BinaryIO, start: int, end: int) -> bytes:
    """What a track holds: ``vide``, ``soun``, ``sbtl``, ``text``..."""
    for kind, first, last in _boxes(file, start, end):
        if kind == b"mdia":
            return _handler(file, first, last)
        if kind == b"hdlr":
            file.seek(first + 8)  # version and flags, and a word that is not used
            return file.read(4)
    return b""


def _switch_off(file: BinaryIO, start: int, end: int) -> None:
    for kind, first, _ in _boxes(file, start, end):
        if kind == b"tkhd":
            file.seek(first + 3)  # a byte of version, three of flags
            flags = file.read(1)[0]
            file.seek(first + 3)
            file.write(bytes([flags & ~_ENABLED]))
