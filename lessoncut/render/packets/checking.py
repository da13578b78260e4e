"""A finished track held against what it should be: packet by packet, and by decoding around every join."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate, groupby
from pathlib import Path

import numpy as np
from av.video.frame import VideoFrame

from lessoncut.errors import ToolError
from lessoncut.progress import Progress, no_progress
from lessoncut.render.packets.copying import CannotCopy, Copy, Plan
from lessoncut.render.packets.groups import Copied, Piece
from lessoncut.render.packets.reading import Pictures, contents, opened
from lessoncut.render.packets.records import AROUND, Expected, Pixels, digest_of, glimpse
from lessoncut.take.records import TakeFile
from lessoncut.times import FrameRate

BOTH_SIDES = 12
"""So many joins, spread evenly, are decoded across. The others only from the join on, where every piece begins anew:
what comes before it is a group's end, dear to reach, and its packets are known to be the take's own."""
LEAST_PSNR_DB = 35.0
"""An encoded frame that is less like its picture is another picture, or broken."""


def check_packets(path: Path, expected: Expected, rate: FrameRate) -> None:
    """Every frame is there, at its time, with the very bytes that were written. Raises ToolError."""
    with opened(path) as (container, stream):
        unit = (stream.time_base or Fraction(1)) * rate.per_second
        packets = (packet for packet in container.demux(stream) if packet.size)
        found = tuple(((packet.pts or 0) * unit, digest_of(bytes(packet))) for packet in packets)
    if len(found) != expected.frames:
        raise ToolError(f"the video has {len(found)} frames instead of {expected.frames}", where=str(path))
    for (at, digest), (frame, written) in zip(found, expected.packets, strict=True):
        # A container may count in its own units, a fifth of a millisecond or finer.
        if digest != written or abs(at - frame) > Fraction(1, 100):
            raise ToolError(f"frame {frame} of the video is not what was written", where=str(path))


@dataclass(frozen=True)
class _Copied:
    """The picture of a file that a lesson frame must show exactly."""

    file: int
    picture: int


def check_joins(
    path: Path, files: Sequence[TakeFile], plan: Plan, done: Copy, progress: Progress = no_progress
) -> None:
    """Decode around every join: copied frames are the same as in the take to the last bit, encoded ones look alike.

    Raises CannotCopy where they do not.
    """
    shown = [one for piece in plan.pieces for one in _shown(piece)]
    near = sorted(set(_near(list(accumulate(piece.frames for piece in plan.pieces))[:-1])) & set(range(len(shown))))
    with ExitStack() as stack:
        sources = {
            number: Pictures(*stack.enter_context(opened(Path(files[number].path))), own)
            for number, own in plan.inside.items()
        }
        try:
            track = Pictures(*stack.enter_context(opened(path)), contents(path))
            for count, stretch in enumerate(stretches := list(_runs(near)), start=1):
                there = _take_pictures([shown[frame] for frame in stretch], sources)
                for number, frame in track.frames(stretch.start, stretch.stop):
                    _compare(number, frame, there.get(shown[number]), done.glimpses.get(number))
                progress(count / len(stretches))
        except ValueError as error:
            raise CannotCopy(f"the result does not decode as it should ({error})") from error


def _near(joins: Sequence[int]) -> Iterator[int]:
    """The frames to decode."""
    step = max(1, math.ceil(len(joins) / BOTH_SIDES))
    for number, join in enumerate(joins):
        yield from range(join - (0 if number % step else AROUND), join + AROUND)


def _shown(piece: Piece) -> Iterator[_Copied | None]:
    """What each frame of a piece must show; None for what was encoded anew."""
    for place in range(piece.frames):
        yield _Copied(piece.file, piece.first_picture + place) if isinstance(piece, Copied) else None


def _runs(numbers: Sequence[int]) -> Iterator[range]:
    """The sorted numbers as stretches without a hole."""
    for _, run in groupby(enumerate(numbers), key=lambda pair: pair[1] - pair[0]):
        members = [number for _, number in run]
        yield range(members[0], members[-1] + 1)


def _take_pictures(wanted: Sequence[_Copied | None], sources: Mapping[int, Pictures]) -> dict[_Copied | None, Pixels]:
    there: dict[_Copied | None, Pixels] = {}
    for file in {one.file for one in wanted if one}:
        for run in _runs(sorted({one.picture for one in wanted if one and one.file == file})):
            for picture, frame in sources[file].frames(run.start, run.stop):
                there[_Copied(file, picture)] = frame.to_ndarray()
    return there


def _compare(number: int, frame: VideoFrame, exactly: Pixels | None, alike: Pixels | None) -> None:
    pixels = frame.to_ndarray()
    if exactly is not None:
        if not np.array_equal(pixels, exactly):
            raise CannotCopy(f"the copied frame {number} does not look as in the take")
    elif alike is None or glimpse(pixels).shape != alike.shape:
        raise CannotCopy(f"frame {number} came out with another size")
    elif (psnr_db := _psnr_db(glimpse(pixels), alike, frame.format.components[0].bits)) < LEAST_PSNR_DB:
        raise CannotCopy(f"the encoded frame {number} came out at {psnr_db:.0f} dB")


def _psnr_db(pixels: Pixels, source: Pixels, bits: int) -> float:
    error = float(np.mean((pixels.astype(np.float32) - source) ** 2))
    return math.inf if error == 0 else 10 * math.log10(((1 << bits) - 1) ** 2 / error)
