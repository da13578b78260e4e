"""What can be told of a recording from its bytes alone: that it is a file, its hash, and why nothing can open it."""

from __future__ import annotations

import errno
import hashlib
import os
import stat
from pathlib import Path

from lessoncut.errors import TakeError
from lessoncut.progress import Progress, no_progress

_BLOCK_BYTES = 1 << 20
_HEAD_BYTES = 4096

_PLAYLISTS = (b"#extm3u", b"ffconcat", b"[playlist]", b"[reference]", b"[internetshortcut]", b"v=0\n", b"v=0\r",
              b"<smil", b"<asx", b"<mpd", b"<playlist")  # fmt: skip
_XML_PLAYLISTS = (b"<smil", b"<mpd", b"<playlist", b"<compositionplaylist")
_HINTS = {
    errno.EACCES: "check who may read it and the folders above it",
    errno.ELOOP: "name the recording itself: this link leads back to itself",
    errno.ENAMETOOLONG: "give it a shorter name",
}
_BOXES = (b"ftyp", b"mdat", b"wide", b"free", b"skip")


def size_bytes(path: Path) -> int:
    """The size of what must be a file with something in it. Raises TakeError.

    A pipe or a device is refused: reading it would wait, or never end.
    """
    try:
        status = path.stat()
    except OSError as error:
        raise unreadable(path, error) from error
    except ValueError as error:  # a NUL in the name
        raise TakeError("no file can have this name", where=ascii(str(path))) from error
    if stat.S_ISDIR(status.st_mode):
        raise TakeError("this is a folder, not a recording", where=str(path), hint="name the files inside it, in order")
    if not stat.S_ISREG(status.st_mode):
        raise TakeError("this is not a file", where=str(path), hint="record to a file first")
    if status.st_size == 0:
        raise TakeError("the file is empty (0 bytes)", where=str(path), hint="copy it again from the recorder")
    return status.st_size


def sha256(path: Path, progress: Progress = no_progress) -> str:
    """The hash of the content, in hexadecimal. Raises TakeError."""
    digest = hashlib.sha256()
    block = memoryview(bytearray(_BLOCK_BYTES))
    size = size_bytes(path)
    try:
        with path.open("rb", buffering=0) as file:
            while count := file.readinto(block):
                digest.update(block[:count])
                progress(min(1.0, file.tell() / size))
    except OSError as error:
        raise unreadable(path, error) from error
    return digest.hexdigest()


def unreadable(path: Path, error: OSError) -> TakeError:
    """The error for a file that the system does not give."""
    if isinstance(error, FileNotFoundError):
        return TakeError("there is no such file", where=str(path), hint="check the spelling and the folder")
    hint = _HINTS.get(error.errno or 0, "copy it to a disk of this machine first")
    return TakeError(f"cannot be read ({os.strerror(error.errno or 0)})", where=str(path), hint=hint)


def not_a_recording(path: Path) -> TakeError:
    """The error for a file that no demuxer opens, told by its first bytes."""
    try:
        with path.open("rb") as file:
            head = file.read(_HEAD_BYTES)
        cut_off = head[4:8] in _BOXES and b"moov" not in _boxes(path)
    except OSError as error:
        return unreadable(path, error)
    if _is_playlist(head):
        return TakeError(
            "this is a playlist: it names other files or addresses and holds no sound itself",
            where=str(path),
            hint="give the recordings themselves, in order",
        )
    if cut_off:
        return TakeError(
            "the recording was cut off before it was closed: its index (moov) is missing",
            where=str(path),
            hint="copy it again from the recorder; some recorders repair such a file when they are switched on",
        )
    return TakeError(
        "this is not a recording: no sound or video format is recognised in it, or it is damaged",
        where=str(path),
        hint="play the file to see whether it is whole",
    )


def _is_playlist(head: bytes) -> bool:
    text = head.lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    return text.startswith(_PLAYLISTS) or (text.startswith(b"<?xml") and any(mark in text for mark in _XML_PLAYLISTS))


def _boxes(path: Path) -> set[bytes]:
    """The names of the top-level boxes of an MP4 or QuickTime file (ISO/IEC 14496-12, 4.2; from memory)."""
    names = set()
    with path.open("rb") as file:
        end = file.seek(0, os.SEEK_END)
        at = 0
        while at + 8 <= end:
            file.seek(at)
            header = file.read(16)
            length = int.from_bytes(header[:4], "big")
            if length == 1:
                length = int.from_bytes(header[8:16], "big")
            names.add(header[4:8])
            if length < 8:
                break
            at += length
    return names
