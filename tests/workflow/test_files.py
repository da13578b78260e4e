"""Nobody sees half a file: neither after an error, nor after a kill, nor on a full disk."""

import errno
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from lessoncut import files
from lessoncut.errors import LessonFolderError


def test_whole_file_replaces_the_old_one(tmp_path: Path) -> None:
    path = tmp_path / "a.txt"
    files.write_whole(path, b"old")
    files.write_whole(path, b"new")
    assert path.read_bytes() == b"new"
    assert [entry.name for entry in tmp_path.iterdir()] == ["a.txt"]


def test_a_failing_block_leaves_what_was_there(tmp_path: Path) -> None:
    path = tmp_path / "clip.mp4"
    path.write_bytes(b"old")
    with pytest.raises(ZeroDivisionError), files.in_the_making(path) as part:
        assert part.suffix == ".mp4"
        part.write_bytes(b"half of the n")
        raise ZeroDivisionError
    assert path.read_bytes() == b"old"
    assert [entry.name for entry in tmp_path.iterdir()] == ["clip.mp4"]


def test_appended_lines_stand_alone_after_a_torn_one(tmp_path: Path) -> None:
    path = tmp_path / "log"
    files.append_line(path, "one")
    with path.open("ab") as file:
        file.write(b'{"torn')
    files.append_line(path, "two")
    assert path.read_text().splitlines() == ["one", '{"torn', "two"]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_full_disk_is_said(tmp_path: Path) -> None:
    path = tmp_path / "log"
    path.symlink_to("/dev/full")
    with pytest.raises(LessonFolderError, match="disk is full"):
        files.append_line(path, "one")


def test_a_line_that_does_not_fit_is_taken_back_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "log"
    files.append_line(path, "one")

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(LessonFolderError, match="disk is full"):
        files.append_line(path, "two")
    assert path.read_text() == "one\n"


@pytest.mark.parametrize(
    ("number", "says"),
    [
        (errno.EACCES, "may not be written to"),
        (errno.EROFS, "may not be written to"),
        (errno.EDQUOT, "disk is full"),
        (errno.EIO, "cannot be written"),
    ],
)
def test_other_failures_are_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int, says: str) -> None:
    def refuse(*_: object) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(Path, "write_bytes", refuse)
    with pytest.raises(LessonFolderError, match=says):
        files.write_whole(tmp_path / "a", b"")
    assert list(tmp_path.iterdir()) == []


WRITER = """
import sys
from pathlib import Path
from lessoncut import files
path, log = Path(sys.argv[1]), Path(sys.argv[2])
for number in range(100_000):
    files.write_whole(path, str(number % 10).encode() * 200_000)
    files.append_line(log, str(number))
    print(number, flush=True)
"""


def test_killed_writer_leaves_whole_files_and_all_acknowledged_lines(tmp_path: Path) -> None:
    whole, log = tmp_path / "whole", tmp_path / "log"
    for round_number in range(4):
        log.unlink(missing_ok=True)
        command = [sys.executable, "-c", WRITER, str(whole), str(log)]
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as writer:
            assert writer.stdout is not None
            acknowledged = [writer.stdout.readline()]
            time.sleep(0.03 * round_number)
            writer.send_signal(signal.SIGKILL)
            acknowledged += writer.stdout.readlines()
        content = whole.read_bytes()
        assert len(content) == 200_000
        assert len(set(content)) == 1
        lines = log.read_text().splitlines()
        assert len(acknowledged) >= 1
        assert lines[: len(acknowledged)] == [line.strip() for line in acknowledged]
        files.sweep(tmp_path)
        assert {entry.name for entry in tmp_path.iterdir()} == {"whole", "log"}
