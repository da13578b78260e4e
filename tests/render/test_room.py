"""What an export needs on the disk is said before, and is enough."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from lessoncut.outputs import all_outputs
from lessoncut.outputs.base import Recording
from lessoncut.render.bench import bench_in
from lessoncut.render.room import Needs, sound_bytes, whole_export
from tests.render.lessons import filmed
from tests.render.test_film import GROUPS

ALL = tuple(kind for kind in all_outputs() if isinstance(kind, Recording))


def size_of(folder: Path) -> int:
    return sum(path.stat().st_size for path in folder.rglob("*") if path.is_file())


@pytest.mark.slow
def test_no_more_lies_on_the_disk_than_was_said(tmp_path: Path) -> None:
    lesson = filmed(tmp_path, *GROUPS)
    slow = replace(lesson.programme, choices=replace(lesson.programme.choices, slow=True))
    room, most = tmp_path / "room", 0
    room.mkdir()

    def look(_: float) -> None:
        nonlocal most
        most = max(most, size_of(room))

    with bench_in(room) as bench:
        for kind in ALL:
            kind.write(slow, room / kind.file_name("lesson"), bench, look)
    needed = whole_export(lesson.footage, [kind.needs(slow) for kind in ALL])
    for kind in ALL:
        assert kind.needs(slow).finished >= (room / kind.file_name("lesson")).stat().st_size, kind.name
    # Not by so much that a disk with room enough is turned down.
    assert most <= needed <= 3 * most


def test_what_is_made_one_after_the_other_lies_there_together(tmp_path: Path) -> None:
    footage = filmed(tmp_path, "-vn", name="take.wav").footage
    decoded, lesson = sound_bytes(footage)
    assert decoded == 23_000 * 48 * 2
    assert lesson == footage.timeline.duration_ms * 48 * 8
    huge, small = Needs(finished=10**9, beside=10**6), Needs(finished=10**6, beside=10**8)
    assert whole_export(footage, [huge, small]) == lesson + 10**9 + 10**6 + 10**8
    # Where little is made, the take's own sound is the most.
    assert whole_export(footage, []) == lesson + decoded
