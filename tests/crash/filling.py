"""A disk that is full from some moment on."""

from __future__ import annotations

import errno
import io
import os
import subprocess
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

_BLOCK = 4096


class Counted:
    """A file whose every write counts; one that does not fit writes the half of it, as a real one may."""

    def __init__(self, file: Any, step: Callable[[], None]) -> None:
        self._file = file
        self._step = step

    def write(self, content: Any) -> int:
        try:
            self._step()
        except OSError:
            self._file.write(content[: len(content) // 2])
            self._file.flush()
            raise
        return int(self._file.write(content))

    def __getattr__(self, name: str) -> Any:
        return getattr(self._file, name)

    def __enter__(self) -> Counted:
        return self

    def __exit__(self, *_: object) -> None:
        self._file.close()


class Filling:
    """Counts writes, syncs and renames; from the one after ``room`` on, nothing fits. ``hit``: it came to that."""

    def __init__(self, room: int) -> None:
        self.room = room
        self.count = 0

    @property
    def hit(self) -> bool:
        return self.count > self.room

    def step(self) -> None:
        self.count += 1
        if self.hit:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    @contextmanager
    def at_work(self) -> Iterator[None]:
        opens, sync, rename = io.open, os.fsync, os.replace

        def opened(file: Any, mode: str = "r", *args: Any, **kwargs: Any) -> Any:
            made = opens(file, mode, *args, **kwargs)
            to_disk = not isinstance(file, int) and set(mode) & set("wax+")
            return Counted(made, self.step) if to_disk else made

        def after_a_step(real: Callable[..., None]) -> Callable[..., None]:
            def stepped(*args: Any, **kwargs: Any) -> None:
                self.step()
                real(*args, **kwargs)

            return stepped

        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(io, "open", opened)
            patch.setattr(os, "fsync", after_a_step(sync))
            patch.setattr(os, "replace", after_a_step(rename))
            yield


@contextmanager
def small_disk(at: Path, size_bytes: int) -> Iterator[Path]:
    """A disk of its own in memory. Skips the test where this user may not mount one."""
    at.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", f"size={size_bytes}", "tmpfs", str(at)]
    try:
        done = subprocess.run(mount, capture_output=True, check=False)
    except FileNotFoundError:
        pytest.skip("there is no mount command")
    if done.returncode:
        pytest.skip("no disk can be mounted here")
    try:
        yield at
    finally:
        subprocess.run(["umount", "--lazy", str(at)], check=True)


def leave(disk: Path, free_bytes: int) -> None:
    """Fill the disk up until so much is free, in whole blocks."""
    filler = disk / "filler"
    filler.unlink(missing_ok=True)
    status = os.statvfs(disk)
    filling = (status.f_bavail * status.f_bsize - free_bytes) // _BLOCK * _BLOCK
    with filler.open("wb") as file:
        file.write(bytes(max(0, filling)))
