"""Looks into a recording's picture, packet by packet, and gives any packets or pictures of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from fractions import Fraction
from itertools import chain, islice
from pathlib import Path

import av
from av.codec.context import ThreadType
from av.container import InputContainer
from av.packet import Packet
from av.stream import Disposition
from av.video.codeccontext import VideoCodecContext
from av.video.frame import VideoFrame
from av.video.stream import VideoStream

from lessoncut.errors import TakeError
from lessoncut.ffmpeg import PROTOCOLS, RECORDINGS, url
from lessoncut.progress import Progress, no_progress
from lessoncut.render.packets import h264
from lessoncut.render.packets.groups import Order, order_of
from lessoncut.render.packets.records import Coded

_ENOUGH_PACKETS = 64
"""No frame is shown so many packets after it was decoded."""


@contextmanager
def opened(path: Path) -> Iterator[tuple[InputContainer, VideoStream]]:
    """The file and the picture in it. Raises TakeError for whatever PyAV cannot do inside."""
    fences = {"protocol_whitelist": PROTOCOLS, "format_whitelist": RECORDINGS}
    try:
        with av.open(url(path), mode="r", options=fences, metadata_errors="replace") as container:
            yield container, next(stream for stream in container.streams.video if _moves(stream))
    except (av.FFmpegError, StopIteration) as error:
        raise TakeError(f"its picture cannot be read ({error})", where=str(path)) from error


def _moves(stream: VideoStream) -> bool:
    """Not the cover of an album."""
    return stream.width > 0 and not stream.disposition & Disposition.attached_pic


def first_shown_s(path: Path) -> Fraction:
    """When the first frame is shown, on the file's own clock. Raises TakeError."""
    with opened(path) as (container, stream):
        packets = islice(container.demux(stream), _ENOUGH_PACKETS)
        shown = [packet.pts for packet in packets if packet.pts is not None and not packet.is_discard and packet.size]
        if not shown or stream.time_base is None:
            raise TakeError("its picture has no frames", where=str(path))
        return min(shown) * stream.time_base


@dataclass(frozen=True)
class Contents:
    """What a file's picture is made of, packet by packet in decoding order.

    ``shown`` and ``decoded`` are the packets' own times; ``order`` is None where they say too little.
    ``sets_change``: packets carry other parameter sets than the file's head.
    """

    shown: tuple[int | None, ...]
    decoded: tuple[int | None, ...]
    order: Order | None
    first_s: Fraction
    sets: h264.ParameterSets
    sets_change: bool


def contents(path: Path, progress: Progress = no_progress) -> Contents:
    """Raises TakeError; ValueError for packets that are not whole H.264."""
    times: list[tuple[int | None, int | None]] = []
    seen: list[bool] = []
    idr: list[bool] = []
    with opened(path) as (container, stream):
        head = stream.codec_context.extradata or b""
        sets, length_bytes, change = h264.sets_of(head), h264.length_bytes_of(head), False
        size = max(1, container.size)
        for packet in container.demux(stream):
            if not packet.size:
                continue
            times.append((packet.pts, packet.dts))
            seen.append(not packet.is_discard)
            idr.append(False)
            if packet.is_keyframe:
                nals = list(h264.units(bytes(packet), length_bytes))
                idr[-1] = any(h264.kind(nal) == h264.IDR for nal in nals)
                change |= any(
                    h264.kind(nal) in (h264.SPS, h264.PPS) and nal not in (*sets.sps, *sets.pps) for nal in nals
                )
                progress(min(1.0, (packet.pos or 0) / size))
        shown, decoded = tuple(pts for pts, _ in times), tuple(dts for _, dts in times)
        first = min((pts for pts, own in zip(shown, seen, strict=True) if own and pts is not None), default=0)
        first_s = first * (stream.time_base or Fraction(1))
        return Contents(shown, decoded, order_of(shown, seen, idr), first_s, sets, change)


class Pictures:
    """A file's picture, open for reading anywhere. ``inside`` is what ``contents`` said of it."""

    def __init__(self, container: InputContainer, stream: VideoStream, inside: Contents) -> None:
        assert inside.order
        self._container, self.stream, self._inside, self._order = container, stream, inside, inside.order
        self._length_bytes = h264.length_bytes_of(stream.codec_context.extradata or b"")
        self._numbers = {time: number for number, time in enumerate(inside.shown)}

    def packets(self, wanted: range) -> Iterator[Packet[VideoStream]]:
        """These packets, counted in decoding order. Raises ValueError where the file does not give them again."""
        if not wanted:
            return
        packets, number = self._entered(wanted.start)
        for packet in packets:
            if self._numbers.get(packet.pts) != number:
                raise ValueError(f"packet {number} is not where it was")
            if number >= wanted.start:
                yield packet
            number += 1
            if number == wanted.stop:
                return
        raise ValueError(f"the file ends before packet {wanted.stop}")

    def coded(self, wanted: range, places: Sequence[int]) -> Iterator[Coded]:
        """These packets as a piece, untouched but for the form of their lengths."""
        for packet, place in zip(self.packets(wanted), places, strict=True):
            content = bytes(packet)
            if self._length_bytes != 4:
                nals = (nal for nal in h264.units(content, self._length_bytes) if h264.kind(nal) not in h264.HEADS)
                content = h264.with_lengths(nals)
            yield Coded(content, place, packet.is_keyframe)

    def _entered(self, number: int) -> tuple[Iterator[Packet[VideoStream]], int]:
        """The packets from some place at or before packet ``number`` on, and the first one's number.

        Some files are entered by the time of showing and others by that of decoding.
        """
        for time in (self._inside.shown[number], self._inside.decoded[number], self._inside.shown[0]):
            if time is None:
                continue
            self._container.seek(time, stream=self.stream)
            packets = (packet for packet in self._container.demux(self.stream) if packet.size)
            first = next(packets, None)
            at = self._numbers.get(first.pts) if first else None
            if first and at is not None and at <= number:
                return chain([first], packets), at
        raise ValueError(f"packet {number} cannot be reached")

    def frames(self, first: int, last: int) -> Iterator[tuple[int, VideoFrame]]:
        """Pictures ``[first, last)`` with their numbers, in order. Raises ValueError where one does not come out."""
        decoder = VideoCodecContext.create("h264", "r")
        decoder.extradata = self.stream.codec_context.extradata
        decoder.thread_type = ThreadType.AUTO
        at, needed = first, self._order.needed_for(first, last)
        for packet in chain(self._leading_to(first, needed), [None]):
            for frame in decoder.decode(packet):
                number = self._numbers.get(frame.pts)
                place = int(self._order.places[number]) if number is not None else -1
                if first <= place < last:
                    if place != at:
                        raise ValueError(f"picture {at} does not come out of the decoder")
                    yield place, frame
                    at += 1
        if at != last:
            raise ValueError(f"picture {at} does not come out of the decoder")

    def _leading_to(self, first: int, needed: range) -> Iterator[Packet[VideoStream]]:
        """The packets without those before picture ``first`` that nothing refers to."""
        for number, packet in zip(needed, self.packets(needed), strict=True):
            early = self._order.places[number] < first
            if not early or h264.is_referred_to(h264.units(bytes(packet), self._length_bytes)):
                yield packet
