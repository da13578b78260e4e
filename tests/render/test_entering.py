"""What a quick look decodes, read off the clock in its pixels."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from lessoncut.render import entering
from lessoncut.render.glance import write_glance
from lessoncut.render.records import Footage
from lessoncut.take.levels import Levels
from lessoncut.take.probe import probe
from lessoncut.times import FrameRate
from tests.render import clock
from tests.render.sounding import timeline

RATE = FrameRate(Fraction(25))
FEW = 10
QUIET = np.full(1000, -60, np.float32)
X264 = ("-c:v", "libx264", "-g", "60", "-keyint_min", "60", "-sc_threshold", "0", "-bf")
X265 = "log-level=error:keyint=60:min-keyint=60:scenecut=0:open-gop"


def glanced(take: Path, into: Path, *edits: tuple[int, ...]) -> tuple[list[int], int]:
    """The take's frame that stands at every place, and how many are said to stand still."""
    lesson = timeline(RATE, *edits)
    still = write_glance(Footage(probe([take]), lesson, ()), 0, lesson.frames, Levels(QUIET, QUIET), into)
    return clock.pictures(into), still


@pytest.mark.parametrize(
    ("name", "options"),
    [
        ("a.mp4", (*X264, "2")),
        ("a.mov", (*X264, "0")),
        ("a.mkv", (*X264, "2")),
        ("closed.mp4", ("-c:v", "libx265", "-x265-params", f"{X265}=0")),
        ("open.mp4", ("-c:v", "libx265", "-x265-params", f"{X265}=1")),
    ],
)
def test_what_lies_far_behind_a_key_frame_stands_still(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, options: tuple[str, ...]
) -> None:
    """Key frames are 0, 60, 120 and 180; no more than ten frames are decoded in vain."""
    monkeypatch.setattr(entering, "MOST_PIXELS", {})
    monkeypatch.setattr(entering, "MOST_DEARER_PIXELS", FEW * clock.WIDTH * clock.HEIGHT)
    take = clock.take(tmp_path / name, *options, "-pix_fmt", "yuv420p", rate=RATE.per_second, length_s=10)
    into = tmp_path / "glance.mp4"
    # None of its own: the one before. Soon after one: from that on, and nothing stands still.
    assert glanced(take, into, (0, 90, 105), (0, 64, 80)) == ([60] * 15 + [*range(64, 80)], 15)
    # One inside: it is seen until its time; a gap before and after is as long as ever.
    edits = ((0, 159, 5, 0), (0, 160, 190), (0, 189, 7, 0))
    assert glanced(take, into, *edits) == ([180] * 5 + [180] * 20 + [*range(180, 190)] + [189] * 7, 25)
    # One at the very end is no use: nothing after it would tell that it is alone.
    assert glanced(take, into, (0, 98, 122)) == ([60] * 24, 24)
    # Just too far behind one.
    assert glanced(take, into, (0, 74, 78)) == ([60] * 4, 4)
    # At the take's start, and right after it.
    assert glanced(take, into, (0, 0, 5), (0, 8, 12)) == ([*range(5), *range(8, 12)], 0)


def test_pictures_that_all_stand_alone_are_shown_as_ever(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(entering, "MOST_DEARER_PIXELS", 1)
    take = clock.take(tmp_path / "a.mov", "-c:v", "mjpeg", "-q:v", "3", rate=RATE.per_second, length_s=10)
    assert glanced(take, tmp_path / "glance.mp4", (0, 90, 105)) == ([*range(90, 105)], 0)


def test_within_reach_every_frame_is_the_lessons(tmp_path: Path) -> None:
    take = clock.take(tmp_path / "a.mp4", *X264, "2", "-pix_fmt", "yuv420p", rate=RATE.per_second, length_s=10)
    assert glanced(take, tmp_path / "glance.mp4", (0, 90, 105), (0, 30, 40)) == ([*range(90, 105), *range(30, 40)], 0)
