"""Single frames encoded anew so that they can stand beside copied ones in one H.264 track."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction
from typing import Any

from av.codec.context import Flags
from av.packet import Packet
from av.video.codeccontext import VideoCodecContext
from av.video.frame import PictureType, VideoFrame

from lessoncut.render.packets import h264
from lessoncut.render.packets.records import Coded
from lessoncut.times import FrameRate

PROFILES = {66: "baseline", 77: "main", 100: "high", 110: "high10", 122: "high422", 244: "high444"}
"""The profiles that x264 can be held to (ITU-T H.264, Annex A), by ``profile_idc``."""

PRESET, CRF = "ultrafast", 14
"""The few frames around a cut may be large; they are to cost little time and to look like their neighbours."""
_HIGH = 100
"""From this profile on there is an 8x8 transform; with it, x264 says the same profile and not a lesser one."""


class Recoder:
    """Encodes pieces like ``like``, the picture they will stand in. ``sets`` are the source's parameter sets.

    Its own parameter sets have a number that the source does not use, so that both can stand in the track's head.
    """

    def __init__(self, like: VideoCodecContext, sets: h264.ParameterSets, rate: FrameRate) -> None:
        self._like, self._rate = like, rate
        source = h264.sps_of(sets.sps[0])
        taken = {*map(h264.pps_number, sets.pps), *(h264.sps_of(nal).number for nal in sets.sps)}
        number = min(set(range(h264.MOST_SETS)) - taken)
        self._options = {
            "preset": PRESET,
            "crf": str(CRF),
            "profile": PROFILES[source.profile],
            "x264-params": ":".join(
                (
                    f"sps-id={number}",
                    f"level={source.level / 10:g}",
                    f"dpb-size={source.buffered}",
                    "keyint=infinite",
                    "bframes=0",
                    "scenecut=0",
                    "weightp=0",
                    f"8x8dct={int(source.profile >= _HIGH)}",
                )
            ),
        }
        self.sets = h264.sets_of(self._opened().extradata or b"")

    def _opened(self) -> VideoCodecContext:
        context, like = VideoCodecContext.create("libx264", "w"), self._like
        context.width, context.height, context.pix_fmt = like.width, like.height, like.pix_fmt
        context.sample_aspect_ratio = like.sample_aspect_ratio or Fraction(1)
        context.color_range, context.colorspace = like.color_range, like.colorspace
        context.color_primaries, context.color_trc = like.color_primaries, like.color_trc
        context.framerate, context.time_base = self._rate.per_second, 1 / self._rate.per_second
        context.options = self._options
        context.flags |= Flags.global_header
        context.open()
        return context

    def piece(self, frames: Iterable[VideoFrame]) -> Iterator[Coded]:
        """The frames, in this order, as one piece that stands by itself."""
        context = self._opened()
        place = 0
        for number, frame in enumerate(frames):
            frame.pts, frame.time_base, frame.pict_type = number, context.time_base, PictureType.NONE
            for packet in context.encode(frame):
                yield self._coded(packet, place)
                place += 1
        for packet in context.encode(None):
            yield self._coded(packet, place)
            place += 1

    def held(self, frame: VideoFrame, times: int) -> Iterator[Coded]:
        """One frame, so many times: encoded once, then only said again. Raises ValueError like ``h264.repeated``."""
        yield from self.piece([frame])
        for place, nal in enumerate(h264.repeated(self.sets, times - 1), start=1):
            yield Coded(h264.with_lengths([nal]), place, False)

    @staticmethod
    def _coded(packet: Packet[Any], place: int) -> Coded:
        nals = list(h264.units(bytes(packet), None))
        return Coded(h264.with_lengths(nals), place, any(h264.kind(nal) == h264.IDR for nal in nals))
