"""The picture copied: whole groups of pictures as they are, and only the frames around the cuts encoded anew."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from av.video.frame import VideoFrame

from lessoncut.progress import Progress, no_progress, shares
from lessoncut.render.packets import h264
from lessoncut.render.packets.groups import Copied, Piece, pieces_of
from lessoncut.render.packets.joining import joining
from lessoncut.render.packets.reading import Contents, Pictures, contents, opened
from lessoncut.render.packets.recoding import PROFILES, Recoder
from lessoncut.render.packets.records import AROUND, Coded, Expected, Pixels, delay_of, glimpse
from lessoncut.render.shots import Held, Played, Strip
from lessoncut.take.records import Picture, TakeFile
from lessoncut.times import FrameRate

LEAST_COPIED = 0.25
"""With a smaller share of copied frames, encoding all of it costs as little and looks more even."""


class CannotCopy(Exception):
    """Why the picture cannot be copied; ends like "because ...". Never reaches the user as an error."""


@dataclass(frozen=True)
class Plan:
    """What is copied from which file, and what is encoded. ``inside`` has the files that are used, by number."""

    pieces: tuple[Piece, ...]
    inside: Mapping[int, Contents]
    sets: h264.ParameterSets

    @property
    def copied(self) -> int:
        """Frames that are copied."""
        return sum(piece.frames for piece in self.pieces if isinstance(piece, Copied))

    @property
    def frames(self) -> int:
        return sum(piece.frames for piece in self.pieces)


def planned(
    files: Sequence[TakeFile], strips: Sequence[Strip], rate: FrameRate, progress: Progress = no_progress
) -> Plan:
    """Look into the files and plan the copying. Raises CannotCopy, TakeError."""
    used = sorted({strip.file for strip in strips})
    _check_alike([files[number] for number in used], rate)
    inside: dict[int, Contents] = {}
    for number, step in zip(used, shares(progress, [files[number].size_bytes for number in used]), strict=True):
        inside[number] = _looked_into(files[number], step)
    sets = inside[used[0]].sets
    if any(own.sets != sets for own in inside.values()):
        raise CannotCopy("the files were encoded with different settings")
    offsets = {number: _offset(files[number], own, rate) for number, own in inside.items()}
    counted = [piece for strip in strips for piece in _in_pictures(strip, offsets[strip.file], inside[strip.file])]
    groups = {number: own.order.groups() for number, own in inside.items() if own.order}
    plan = Plan(pieces_of(counted, groups), inside, sets)
    if plan.copied < LEAST_COPIED * plan.frames:
        raise CannotCopy("hardly any whole group of pictures lies between the cuts")
    return plan


def _check_alike(files: Sequence[TakeFile], rate: FrameRate) -> None:
    pictures = [file.picture for file in files]
    first = pictures[0]
    if first is None or any(picture is None for picture in pictures):
        raise CannotCopy("a file of the take has no picture")
    for picture in pictures:
        assert picture
        if picture.codec != "h264":
            raise CannotCopy(f"the picture is {picture.codec}, not H.264")
        if picture.interlaced:
            raise CannotCopy("the picture is interlaced")
        if not picture.steady or picture.rate != rate:
            raise CannotCopy("the frames are not steady")
        if _shape(picture) != _shape(first):
            raise CannotCopy("the files differ in the size or the form of their pictures")


def _shape(picture: Picture) -> tuple[int, int, int, str]:
    return picture.width, picture.height, picture.rotation_deg, picture.pixel_format


def _looked_into(file: TakeFile, progress: Progress) -> Contents:
    try:
        own = contents(Path(file.path), progress)
        sps = [h264.sps_of(nal) for nal in own.sets.sps]
    except ValueError as error:
        raise CannotCopy(f"its H.264 is unusual ({error})") from error
    if own.order is None:
        raise CannotCopy("the file does not say when each of its frames is shown")
    if own.sets_change or len(sps) != 1:
        raise CannotCopy("the settings of the encoder change on the way")
    if sps[0].profile not in PROFILES or not sps[0].progressive:
        raise CannotCopy(f"its H.264 profile ({sps[0].profile}) is unusual")
    return own


def _offset(file: TakeFile, own: Contents, rate: FrameRate) -> int:
    """The frame of the grid on which the file's first picture stands."""
    late_s = own.first_s - Fraction(file.start_ms, 1000)
    return math.floor(late_s * rate.per_second + Fraction(1, 2))


def _in_pictures(strip: Strip, offset: int, own: Contents) -> Iterator[Strip]:
    """A strip of the grid in pictures; where the file has none, its first or last is held."""
    assert own.order
    last = own.order.pictures
    if isinstance(strip, Held):
        yield Held(strip.file, min(max(strip.frame - offset, 0), last - 1), strip.frames)
        return
    start, end = strip.first - offset, strip.last - offset
    if start < 0:
        yield Held(strip.file, 0, min(end, 0) - start)
    if max(start, 0) < min(end, last):
        yield Played(strip.file, max(start, 0), min(end, last))
    if end > last:
        yield Held(strip.file, last - 1, end - max(start, last))


@dataclass(frozen=True)
class Copy:
    """A track that was written. ``glimpses``: what the encoded frames beside a join looked like in the take."""

    expected: Expected
    glimpses: Mapping[int, Pixels]


def copy(files: Sequence[TakeFile], plan: Plan, rate: FrameRate, into: Path, progress: Progress = no_progress) -> Copy:
    """Write the picture's track. Raises CannotCopy where a file is not the same when it is read again; ToolError."""
    glimpses: dict[int, Pixels] = {}
    with ExitStack() as stack:
        sources = {
            number: Pictures(*stack.enter_context(opened(Path(files[number].path))), own)
            for number, own in plan.inside.items()
        }
        like = next(iter(sources.values())).stream
        recoder = Recoder(like.codec_context, plan.sets, rate)
        delay = max(delay_of(piece.places) for piece in plan.pieces if isinstance(piece, Copied))
        joiner = stack.enter_context(joining(into, like, rate, plan.sets.with_more(recoder.sets), delay))
        steps = shares(progress, [piece.frames for piece in plan.pieces])
        for piece, step in zip(plan.pieces, steps, strict=True):
            before = joiner.frames
            try:
                joiner.add(_coded(piece, before, sources, recoder, glimpses))
                step(1.0)
            except ValueError as error:
                raise CannotCopy(f"the file cannot be read the same way twice ({error})") from error
            if joiner.frames - before != piece.frames:
                raise CannotCopy("the encoder left a frame out")
        return Copy(joiner.expected, glimpses)


def _coded(
    piece: Piece, at: int, sources: Mapping[int, Pictures], recoder: Recoder, glimpses: dict[int, Pixels]
) -> Iterator[Coded]:
    """The piece's packets; ``at`` is its first frame in the lesson."""
    if isinstance(piece, Copied):
        yield from sources[piece.file].coded(range(piece.first_packet, piece.end_packet), piece.places)
    elif isinstance(piece, Held):
        ((_, frame),) = sources[piece.file].frames(piece.frame, piece.frame + 1)
        look = glimpse(frame.to_ndarray())
        glimpses.update((at + number, look) for number in _beside_joins(piece.frames))
        yield from recoder.held(frame, piece.frames)
    else:
        pictures = (sources[strip.file].frames(strip.first, strip.last) for strip in piece.strips)
        frames = (frame for own in pictures for _, frame in own)
        yield from recoder.piece(_watched(frames, at, _beside_joins(piece.frames), glimpses))


def _watched(
    frames: Iterable[VideoFrame], at: int, wanted: frozenset[int], glimpses: dict[int, Pixels]
) -> Iterator[VideoFrame]:
    for number, frame in enumerate(frames):
        if number in wanted:
            glimpses[at + number] = glimpse(frame.to_ndarray())
        yield frame


def _beside_joins(frames: int) -> frozenset[int]:
    """The first and the last frames of a piece."""
    return frozenset(number for number in range(frames) if number < AROUND or number >= frames - AROUND)
