"""Packets written one after the other into a track of steady frames, every time said explicitly."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from fractions import Fraction
from pathlib import Path

import av
from av.container import OutputContainer
from av.video.stream import VideoStream

from lessoncut.errors import ToolError
from lessoncut.render.packets import h264
from lessoncut.render.packets.reading import opened
from lessoncut.render.packets.records import Coded, Expected, delay_of
from lessoncut.times import FrameRate


class Joiner:
    """Gives every packet its times: frame ``n`` of the lesson is shown at ``n / rate``."""

    def __init__(self, container: OutputContainer, stream: VideoStream, rate: FrameRate, delay: int) -> None:
        self._container, self._stream, self._rate, self._delay = container, stream, rate, delay
        self._written: list[tuple[int, bytes]] = []

    @property
    def expected(self) -> Expected:
        return Expected(tuple(self._written))

    @property
    def frames(self) -> int:
        return len(self._written)

    def add(self, piece: Iterable[Coded]) -> None:
        """One piece, whole: its places are 0, 1, 2... in some order."""
        first = len(self._written)
        for coded in piece:
            packet = av.Packet(coded.content)
            packet.stream = self._stream
            packet.time_base = 1 / self._rate.per_second
            packet.pts, packet.dts = first + coded.place, len(self._written) - self._delay
            packet.duration = 1
            packet.is_keyframe = coded.key
            self._container.mux(packet)
            self._written.append((first + coded.place, coded.digest))


@contextmanager
def joining(
    into: Path, template: VideoStream, rate: FrameRate, sets: h264.ParameterSets, delay: int
) -> Iterator[Joiner]:
    """A QuickTime file with one track that looks like ``template``. Raises ToolError where it cannot be written."""
    try:
        with av.open(str(into), mode="w", format="mov") as container:
            stream = container.add_stream_from_template(template)
            stream.codec_context.extradata = h264.configuration(sets)
            stream.time_base = Fraction(1, rate.per_second.numerator)
            yield Joiner(container, stream, rate, delay)
    except av.FFmpegError as error:
        raise ToolError(f"the picture cannot be put together ({error})", where=str(into)) from error


def join_files(paths: Sequence[Path], frames: Sequence[int], rate: FrameRate, into: Path) -> Expected:
    """One track from files with one H.264 track each, which must have so many frames. Raises ToolError."""
    sets, places = h264.ParameterSets((), ()), []
    for path, wanted in zip(paths, frames, strict=True):
        own_sets, own_places = _looked_into(path)
        if len(own_places) != wanted:
            raise ToolError(f"a shot came out with {len(own_places)} frames instead of {wanted}", where=str(path))
        try:
            sets = sets.with_more(own_sets)
        except ValueError as error:
            raise ToolError(f"the shots cannot stand in one track ({error})", where=str(path)) from error
        places.append(own_places)
    delay = max(map(delay_of, places))
    with opened(paths[0]) as (_, template), joining(into, template, rate, sets, delay) as joiner:
        for path, own in zip(paths, places, strict=True):
            with opened(path) as (container, stream):
                packets = (packet for packet in container.demux(stream) if packet.size)
                joiner.add(
                    Coded(bytes(packet), place, packet.is_keyframe) for packet, place in zip(packets, own, strict=True)
                )
        return joiner.expected


def _looked_into(path: Path) -> tuple[h264.ParameterSets, list[int]]:
    """A file's parameter sets, and the places of its packets."""
    with opened(path) as (container, stream):
        times = [packet.pts or 0 for packet in container.demux(stream) if packet.size]
        rank = {at: place for place, at in enumerate(sorted(times))}
        return h264.sets_of(stream.codec_context.extradata or b""), [rank[at] for at in times]
