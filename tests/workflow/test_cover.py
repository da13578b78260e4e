"""The picture of the practice tracks: a copy in the lesson folder, under the same undo as everything else."""

from pathlib import Path

import pytest
from typer.testing import CliRunner

from lessoncut.cli.app import app
from lessoncut.errors import InputError, LessonFolderError
from lessoncut.render.cover import MOST_BYTES
from lessoncut.workflow.cover import cover_of, forget_cover, remember_cover
from lessoncut.workflow.deciding import undo
from tests.review.lessons import reviewed

PNG = b"\x89PNG\r\n\x1a\n"
"""How every PNG begins (ISO/IEC 15948, 5.2)."""
JPEG = b"\xff\xd8\xff"
"""How every JPEG begins (ITU-T T.81, annex B: SOI, then a marker)."""


def test_a_picture_is_copied_kept_and_taken_back(tmp_path: Path) -> None:
    folder = reviewed(tmp_path / "lesson")
    assert cover_of(folder) is None
    remember_cover(folder, "../../the lake.gif", JPEG + b"lake")
    lake = cover_of(folder)
    assert lake == folder.path / "covers" / "the lake.jpg"
    assert lake.read_bytes() == JPEG + b"lake"
    remember_cover(folder, "the lake.jpg", JPEG + b"lake")
    assert len(folder.decisions_text().splitlines()) == 1, "the same picture once more changes nothing"
    remember_cover(folder, "the lake.jpg", JPEG + b"another lake")
    assert cover_of(folder) == folder.path / "covers" / "the lake 1.jpg"
    forget_cover(folder)
    assert cover_of(folder) is None
    undo(folder)
    undo(folder)
    assert cover_of(folder) == lake


@pytest.mark.parametrize("content", [b"GIF89a", PNG + bytes(MOST_BYTES)], ids=["no picture", "too large"])
def test_what_cannot_be_a_cover_is_refused(tmp_path: Path, content: bytes) -> None:
    folder = reviewed(tmp_path / "lesson")
    with pytest.raises(InputError, match="cover"):
        remember_cover(folder, "lake.png", content)
    assert folder.decisions_text() == "" and not (folder.path / "covers").exists()


def test_a_lesson_from_elsewhere_reads_no_file_of_this_machine(tmp_path: Path) -> None:
    folder = reviewed(tmp_path / "lesson")
    (tmp_path / "private.png").write_bytes(PNG)
    folder.add_decision_line(
        '{"does": "set", "number": 1, "at_utc": "2026-11-25T12:00:00Z", "name": "cover", '
        '"values": {"path": "../private.png"}}'
    )
    with pytest.raises(LessonFolderError, match="outside the lesson folder"):
        cover_of(folder)


def test_the_command_keeps_it_and_takes_it_away(tmp_path: Path) -> None:
    folder = reviewed(tmp_path / "lesson")
    (tmp_path / "lake.png").write_bytes(PNG)

    def export(*options: str) -> None:
        done = CliRunner().invoke(app, ["export", str(folder.path), "--only", "captions-srt", *options])
        assert done.exit_code == 0, done.output

    export("--cover", str(tmp_path / "lake.png"))
    kept = cover_of(folder)
    assert kept is not None
    export()
    assert cover_of(folder) == kept
    export("--cover", "none")
    assert cover_of(folder) is None
