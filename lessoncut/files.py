"""Writing so that nobody ever sees half a file: the only home of temporary names.

A file under its final name is whole. What a killed run leaves has a name that begins with ``PART``, and
``sweep`` takes it away.
"""

from __future__ import annotations

import errno
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from io import RawIOBase
from pathlib import Path

from lessoncut.errors import LessonFolderError

PART = ".part-"


def write_whole(path: Path, content: bytes) -> None:
    """Put ``content`` at ``path``, all of it or nothing. Raises LessonFolderError."""
    with in_the_making(path) as part:
        try:
            part.write_bytes(content)
        except OSError as error:
            raise cannot_write(path, error) from error


@contextmanager
def in_the_making(path: Path) -> Iterator[Path]:
    """A name beside ``path`` to write to; it becomes ``path`` when the block ends well and vanishes otherwise.

    The suffix is kept, since some writers go by it. Raises LessonFolderError.
    """
    part = path.with_name(f"{PART}{os.getpid()}-{path.name}")
    try:
        yield part
        _settle(part, path)
    finally:
        with suppress(OSError):
            part.unlink(missing_ok=True)


def _settle(part: Path, path: Path) -> None:
    try:
        with part.open("rb") as file:
            os.fsync(file.fileno())
        part.replace(path)
        sync_folder(path.parent)
    except OSError as error:
        raise cannot_write(path, error) from error


def append_line(path: Path, line: str, *, sync: bool = True) -> None:
    """Add one line to ``path``; when this returns, it is on the disk. Raises LessonFolderError, and then adds nothing.

    Without ``sync`` it outlives the process but perhaps not a power cut: for what can be made again.

    Where a crash left the last line without its end, that line is closed first, so that the new one stands alone.
    """
    try:
        new = not path.exists()
        with path.open("ab", buffering=0) as file:
            size = file.seek(0, os.SEEK_END)
            try:
                _write_all(file, _line_end_wanted(path, size) + line.encode() + b"\n")
                if sync:
                    os.fsync(file.fileno())
            except OSError:
                with suppress(OSError):
                    file.truncate(size)
                raise
        if new and sync:
            sync_folder(path.parent)
    except OSError as error:
        raise cannot_write(path, error) from error


def _write_all(file: RawIOBase, content: bytes) -> None:
    """A raw write may take only a part: when the disk fills up, the next one says so."""
    while content:
        content = content[file.write(content) or 0 :]


def _line_end_wanted(path: Path, size: int) -> bytes:
    if not size:
        return b""
    with path.open("rb") as file:
        file.seek(size - 1)
        return b"" if file.read(1) == b"\n" else b"\n"


def sweep(folder: Path) -> None:
    """Take away what killed runs left in ``folder``; only for who holds the lock on it.

    Decisions and settings are written without that lock: what a living process is writing stays.
    """
    for part in folder.glob(f"{PART}*"):
        if _maker_lives(part):
            continue
        if part.is_dir():
            shutil.rmtree(part, ignore_errors=True)
            continue
        with suppress(OSError):
            part.unlink()


def _maker_lives(part: Path) -> bool:
    process, named, _ = part.name.removeprefix(PART).partition("-")
    if not named or not process.isdecimal():
        return False
    try:
        os.kill(int(process), 0)
    except (ProcessLookupError, OverflowError):
        return False
    except PermissionError:  # it lives, and is somebody else's
        return True
    return True


def sync_folder(folder: Path) -> None:
    """Make new names in ``folder`` outlive a power cut."""
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def cannot_write(path: Path, error: OSError) -> LessonFolderError:
    """The error for the user."""
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return LessonFolderError("the disk is full", where=str(path), hint="make room, then run the command again")
    if error.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
        return LessonFolderError(
            "this place may not be written to", where=str(path), hint="choose another lesson folder with --lesson"
        )
    return LessonFolderError(f"cannot be written ({error.strerror or error})", where=str(path))
