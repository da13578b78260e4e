"""Where a quick look enters a file: a frame can only be had by decoding all that come after the key frame before it.

Where that are too many, the look begins at a later key frame, which stands still until its time; and where there is
none in all of the shot, the one before stands for it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

from lessoncut.render.packets.reading import opened
from lessoncut.render.shots import Shot
from lessoncut.take.records import TakeFile
from lessoncut.times import FrameRate

MOST_PIXELS = {"h264": 52_000_000}
MOST_DEARER_PIXELS = 42_000_000
"""That are decoded before the first that is seen: of H.264 25 frames in full HD, of HEVC, which takes nearly one and a
half times as long (measured), 20."""
INDEXED = (".mp4", ".mov", ".m4v", ".mkv", ".webm")
"""In these files an index leads to a key frame at or before any place."""
BACK_FRAMES = 8
"""How far before a shot a file of steady frames is entered."""
REACH_S = Fraction(3, 20)
"""ffmpeg looks for the key frame up to 3/23 s earlier than it is told, where frames are not decoded in their order."""


@dataclass(frozen=True)
class Entry:
    """A shot as a quick look shows it.

    ``key`` is the key frame that decoding begins at, or None for what the whole export does; ``alone``: no other frame
    is decoded. ``still`` says how many frames are another than in the lesson.
    """

    shot: Shot
    key: int | None = None
    alone: bool = False
    still: int = 0


def entry_of(file: TakeFile, shot: Shot, rate: FrameRate, zero_s: Fraction) -> Entry:
    """The shot, or what can be shown of it where too much would be decoded in vain. Raises TakeError."""
    picture = file.picture
    if picture is None or not picture.steady or Path(file.path).suffix.lower() not in INDEXED:
        return Entry(shot)
    most = MOST_PIXELS.get(picture.codec, MOST_DEARER_PIXELS) // (picture.width * picture.height)
    usual, *later = _key_frames(Path(file.path), shot, rate, zero_s) or [shot.first]
    reach = math.ceil(REACH_S * rate.per_second)
    if shot.first - usual <= max(most, BACK_FRAMES + reach + 1):  # no file is entered nearer
        return Entry(shot)
    alone = [key for key, after in pairwise([*later, shot.last]) if after - key > reach]
    key = next((key for key in alone if key >= shot.first - most), None)
    if key is not None:
        still = shot.before + key - shot.first if key > shot.first else 0
        first = max(shot.first, key)
        return Entry(replace(shot, first=first, before=shot.before + first - shot.first), key, still=still)
    key = max(key for key in (usual, *alone) if key <= shot.first)
    return Entry(Shot(shot.file, key, key + 1, before=shot.frames - 1), key, alone=True, still=shot.frames)


def _key_frames(path: Path, shot: Shot, rate: FrameRate, zero_s: Fraction) -> list[int]:
    """The key frame that a file is usually entered at for this shot, and those after it up to the shot's last frame."""
    reach = BACK_FRAMES + math.ceil(REACH_S * rate.per_second)
    with opened(path) as (container, stream):
        tick_s = stream.time_base or Fraction(1)
        container.seek(math.floor((zero_s + (shot.first - reach) / rate.per_second) / tick_s), stream=stream)

        def keys() -> Iterator[int]:
            for packet in container.demux(stream):
                if packet.pts is None:
                    continue
                number = round((packet.pts * tick_s - zero_s) * rate.per_second)
                if number >= shot.last:
                    return
                if packet.is_keyframe:
                    yield number

        return list(keys())
