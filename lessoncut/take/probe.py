"""Looks into the recordings; the only home of PyAV.

Every packet of a file is read, none but the first picture is decoded: what a header claims and what a file that was
cut off really holds are two things.
"""

from __future__ import annotations

import re
from array import array
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from av.audio.stream import AudioStream
from av.container import InputContainer
from av.packet import Packet
from av.stream import Disposition, Stream
from av.video.frame import VideoFrame
from av.video.stream import VideoStream
from numpy.typing import NDArray

from lessoncut.errors import TakeError
from lessoncut.ffmpeg import PROTOCOLS, RECORDINGS, url
from lessoncut.progress import Progress, no_progress, part, shares
from lessoncut.take.content import not_a_recording, sha256, size_bytes, unreadable
from lessoncut.take.frames import frame_grid
from lessoncut.take.records import Picture, SoundTrack, Take, TakeFile
from lessoncut.times import clock

SHORTEST_MS = 300
LONGEST_MS = 24 * 3_600_000

JUMP_BACK_S = 1
"""Sound that goes back further than this is two recordings in one file; less is a muxer's disorder."""

_TIMECODE = re.compile(r"\d\d:\d\d:\d\d[:;]\d\d")
_PACKETS_TO_A_PICTURE = 300
_PACKETS_A_REPORT = 2000


def probe(paths: Sequence[Path], progress: Progress = no_progress) -> Take:
    """The facts about one or more recordings, in this order. Raises TakeError for the first that cannot be used."""
    if not paths:
        raise TakeError("no recording was given")
    sizes = [size_bytes(path) for path in paths]
    steps = zip(paths, sizes, shares(progress, sizes), strict=True)
    return Take(tuple(_file(path.absolute(), size, step) for path, size, step in steps))


def _file(path: Path, size: int, progress: Progress) -> TakeFile:
    with _opened(path) as container:
        picture = next((stream for stream in container.streams.video if _moves(stream)), None)
        sound = _sound(container, picture, path)
        walk = _Walk(path)
        for packet in _packets(container, [sound, *([picture] if picture else [])], part(progress, 0.0, 0.5)):
            if packet.stream_index == sound.index:
                walk.hear(packet)
            else:
                walk.see(packet)
        start_ms = round(Fraction(container.start_time or 0, 1000))
        duration_ms = int(walk.sound_end_s * 1000) - start_ms
        _check_length(path, duration_ms)
        return TakeFile(
            path=str(path),
            sha256=sha256(path, part(progress, 0.5, 1.0)),
            size_bytes=size,
            start_ms=start_ms,
            duration_ms=duration_ms,
            sound=SoundTrack(
                codec=sound.codec_context.codec.canonical_name,
                sample_rate_hz=sound.codec_context.sample_rate,
                channels=sound.codec_context.channels,
                index=[stream.index for stream in container.streams.audio].index(sound.index),
            ),
            picture=_picture(picture, walk, _timecode(container)) if picture else None,
        )


@contextmanager
def _opened(path: Path) -> Iterator[InputContainer]:
    """The file, held to the fences of ``lessoncut.ffmpeg``. Raises TakeError for whatever PyAV cannot do inside."""
    fences = {"protocol_whitelist": PROTOCOLS, "format_whitelist": RECORDINGS}
    try:
        with av.open(url(path), mode="r", options=fences, metadata_errors="replace") as container:
            yield container
    except av.error.PermissionError as error:
        raise unreadable(path, error) from error
    except av.FFmpegError as error:
        raise not_a_recording(path) from error


def _sound(container: InputContainer, picture: VideoStream | None, path: Path) -> AudioStream:
    best = container.streams.best("audio")
    if best is None and picture is None:  # noise can look like a format for a moment
        raise not_a_recording(path)
    if not isinstance(best, AudioStream):
        raise TakeError(
            "there is no sound track in it", where=str(path), hint="check that the recorder's microphone was on"
        )
    context = best.codec_context
    if context is None or not context.sample_rate or not context.channels:
        raise TakeError(
            "its sound is in a form that cannot be decoded", where=str(path), hint="convert it to WAV or FLAC first"
        )
    return best


def _moves(stream: VideoStream) -> bool:
    """Whether it is a picture that can be shown, and not the cover of an album."""
    cover = bool(stream.disposition & Disposition.attached_pic)
    return not cover and stream.codec_context is not None and stream.width > 0


def _packets(container: InputContainer, streams: Sequence[Stream], progress: Progress) -> Iterator[Packet[Stream]]:
    """All packets up to the end, or to where the file is broken off."""
    size = max(1, container.size)
    packets = container.demux(*streams)
    count = 0
    try:
        for packet in packets:
            yield packet
            count += 1
            if count % _PACKETS_A_REPORT == 0 and packet.pos is not None:
                progress(min(1.0, packet.pos / size))
    except av.FFmpegError:
        if not count:
            raise
    progress(1.0)


class _Walk:
    """What is gathered on the way through all packets."""

    def __init__(self, path: Path) -> None:
        self.sound_end_s = Fraction(0)
        self._frame_times = array("q")
        self._decoded_up_to: int | None = None
        self.first_frame: VideoFrame | None = None
        self._path = path
        self._sound_end: int | None = None
        self._pictures_tried = 0

    def hear(self, packet: Packet[Stream]) -> None:
        if packet.size == 0 or packet.is_discard:
            return
        at = next((time for time in (packet.pts, packet.dts, self._sound_end) if time is not None), 0)
        if self._sound_end is not None and at < self._sound_end - JUMP_BACK_S / packet.time_base:
            raise TakeError(
                f"its clock jumps back after {clock(int(self.sound_end_s * 1000))}: two recordings joined in one file",
                where=str(self._path),
                hint="give the recordings as they were, one after the other",
            )
        self._sound_end = max(at + (packet.duration or 0), self._sound_end or 0)
        self.sound_end_s = self._sound_end * packet.time_base

    def see(self, packet: Packet[Stream]) -> None:
        if self.first_frame is None and self._pictures_tried < _PACKETS_TO_A_PICTURE:
            self._pictures_tried += 1
            # A damaged picture is skipped, as every player does.
            with suppress(av.FFmpegError):
                self.first_frame = next((frame for frame in packet.decode() if isinstance(frame, VideoFrame)), None)
        if packet.size and packet.pts is not None and not packet.is_discard:
            self._frame_times.append(packet.pts)
            self._decoded_up_to = packet.dts

    def frame_times(self) -> NDArray[np.int64]:
        """When each frame is shown. A file that is broken off lacks frames before the last it has: those end it."""
        times = np.array(self._frame_times, dtype=np.int64)
        return times if self._decoded_up_to is None else times[times <= self._decoded_up_to]


def _timecode(container: InputContainer) -> str | None:
    """The first frame's label, wherever the format keeps it."""
    kept = [container.metadata, *(stream.metadata for stream in container.streams)]
    labels = (metadata.get("timecode", "") for metadata in kept)
    return next((label for label in labels if _TIMECODE.fullmatch(label)), None)


def _picture(stream: VideoStream, walk: _Walk, timecode: str | None) -> Picture:
    declared = (stream.guessed_rate, stream.average_rate, stream.base_rate)
    rate, steady = frame_grid(walk.frame_times(), stream.time_base or Fraction(1), declared)
    frame = walk.first_frame
    return Picture(
        width=round(stream.width * (stream.sample_aspect_ratio or 1)),
        height=stream.height,
        rotation_deg=round(-frame.rotation / 90) * 90 % 360 if frame else 0,
        rate=rate,
        steady=steady,
        codec=stream.codec_context.codec.canonical_name,
        pixel_format=frame.format.name if frame else stream.codec_context.pix_fmt or "unknown",
        interlaced=bool(frame and frame.interlaced_frame),
        timecode=timecode,
    )


def _check_length(path: Path, duration_ms: int) -> None:
    if duration_ms <= 0:
        raise TakeError("its sound track is empty", where=str(path), hint="check that the recorder's microphone was on")
    if duration_ms < SHORTEST_MS:
        raise TakeError(
            f"its sound lasts {duration_ms} ms; less than {SHORTEST_MS} ms cannot hold a word",
            where=str(path),
            hint="check that it is the right file, and whole",
        )
    if duration_ms > LONGEST_MS:
        raise TakeError(
            f"its clock says that it lasts {duration_ms // 3_600_000} hours",
            where=str(path),
            hint="convert it to WAV or FLAC first, which have no such clock",
        )
