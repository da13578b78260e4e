"""A small copy of the take for the review page, where the original is not sure to play in a browser.

Its time is take time, from the first file to the last: steady frames, a key frame every second, no offset.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

from lessoncut.ffmpeg import Stream, concatenated, generated, piped, run, source, target
from lessoncut.files import in_the_making
from lessoncut.progress import Progress, no_progress
from lessoncut.take.decode import timed_pcm
from lessoncut.take.records import Picture, Take, TakeFile
from lessoncut.times import FrameRate

# What today's browsers play without a plug-in: suffix -> picture codecs (None: no picture), sound codecs.
# Source: MDN Web Docs, "Media container formats" and the codec guides beside it; from memory. MP3 is not here: it has
# no index, so browsers guess where a time is (common practice, no source).
_PLAYED: dict[str, tuple[frozenset[str | None], frozenset[str]]] = {
    ".mp4": (frozenset({"h264", None}), frozenset({"aac", "mp3"})),
    ".m4v": (frozenset({"h264"}), frozenset({"aac"})),
    ".m4a": (frozenset({None}), frozenset({"aac"})),
    ".webm": (frozenset({"vp8", "vp9", None}), frozenset({"opus", "vorbis"})),
    ".wav": (frozenset({None}), frozenset({"pcm_s16le", "pcm_u8"})),
    ".flac": (frozenset({None}), frozenset({"flac"})),
}
PLAYED_PIXELS = ("yuv420p", "yuvj420p")

_NO_OFFSET_MS = 20
"""A player's clock that is no further from take time than half a frame will do."""

_LONG_SIDE, _SHORT_SIDE = 1280, 720
_SOUND_HZ, _SOUND_CHANNELS = 48_000, 2


def why_needed(take: Take) -> str | None:
    """Why a browser may not play the original in take time; None when it will."""
    if len(take.files) > 1:
        return "the take is several files"
    file = take.files[0]
    ending, picture, sound = Path(file.path).suffix.lower(), file.picture, file.sound.codec
    if ending not in _PLAYED:
        return f"browsers are not sure to open {ending or 'a file without a suffix'}"
    pictures, sounds = _PLAYED[ending]
    codec = picture.codec if picture else None
    if codec not in pictures or sound not in sounds:
        return f"browsers are not sure to play {codec or 'no picture'} with {sound} in {ending}"
    if file.sound.channels > _SOUND_CHANNELS:
        return f"the sound has {file.sound.channels} channels"
    if abs(file.start_ms) > _NO_OFFSET_MS:
        return "its clock does not start at 0"
    return _why_not_shown(picture) if picture else None


def _why_not_shown(picture: Picture) -> str | None:
    if picture.pixel_format not in PLAYED_PIXELS:
        return f"browsers are not sure to show {picture.pixel_format} pictures"
    if picture.interlaced:
        return "the picture is interlaced"
    if not picture.steady:
        return "the frames are not steady"
    return None


def suffix(take: Take) -> str:
    """What the preview's name ends in."""
    return ".mp4" if take.picture else ".m4a"


def write(take: Take, into: Path, progress: Progress = no_progress) -> None:
    """Write the preview: H.264 of at most 1280x720 with AAC, or AAC alone. Raises TakeError, ToolError."""
    sound = piped(format="s16le", ar=_SOUND_HZ, ac=_SOUND_CHANNELS).audio
    streams = [sound] if take.picture is None else [_picture(take, take.picture), sound]
    picture_options = {} if take.picture is None else _encoding(take.picture.rate)
    with in_the_making(into) as unfinished:
        job = target(
            *streams,
            to=unfinished,
            format="mp4",
            acodec="aac",
            audio_bitrate="128k",
            movflags="+faststart",
            map_metadata=-1,
            **picture_options,
        )
        run(job, length_ms=take.duration_ms, progress=progress, stdin=_sound(take))


def _sound(take: Take) -> Iterator[bytes]:
    for file in take.files:
        yield from timed_pcm(file, rate_hz=_SOUND_HZ, channels=_SOUND_CHANNELS)


def _picture(take: Take, leading: Picture) -> Stream:
    """All pictures as one stream on the frame grid of take time."""
    size = _fitted(leading)
    pieces = []
    for number, (file, span) in enumerate(zip(take.files, take.spans, strict=True)):
        frames = leading.rate.first_frame_from(span.end_ms) - leading.rate.first_frame_from(span.start_ms)
        pieces.append(_piece(number, file, leading.rate, size, frames))
    return concatenated(pieces) if len(pieces) > 1 else pieces[0]


def _piece(number: int, file: TakeFile, rate: FrameRate, size: tuple[int, int], frames: int) -> Stream:
    """Exactly ``frames`` frames of one file, black where it has no picture, the last one held where it ends early."""
    width, height = size
    # ffmpeg-python takes equal inputs for one; the size of a queue tells a file that comes twice apart from itself.
    apart = {"thread_queue_size": 64 + number}
    if file.picture is None:
        shown = generated(f"color=black:s={width}x{height}:r={rate.per_second}", **apart)
    else:
        shown = source(Path(file.path), copyts=None, **apart)["V:0"].filter(
            "setpts", f"PTS-({file.start_ms / 1000:.3f})/TB"
        )
        if file.picture.interlaced:
            shown = shown.filter("bwdif", mode="send_frame")
        shown = (
            shown.filter("fps", rate.per_second, start_time=0)
            .filter("scale", "trunc(iw*sar/2)*2", "ih")
            .filter("scale", width, height, force_original_aspect_ratio="decrease", force_divisible_by=2)
            .filter("pad", width, height, -1, -1)
            .filter("tpad", stop_mode="clone", stop=-1)
        )
    return shown.filter("format", "yuv420p").filter("setsar", 1).filter("trim", end_frame=frames)


def _fitted(picture: Picture) -> tuple[int, int]:
    """Width and height as seen upright, within the limits, both even."""
    width, height = picture.width, picture.height
    if picture.rotation_deg in (90, 270):
        width, height = height, width
    scale = min(Fraction(1), Fraction(_LONG_SIDE, max(width, height)), Fraction(_SHORT_SIDE, min(width, height)))
    return max(2, round(width * scale / 2) * 2), max(2, round(height * scale / 2) * 2)


def _encoding(rate: FrameRate) -> dict[str, object]:
    return {
        "vcodec": "libx264",
        "profile:v": "baseline",
        "preset": "veryfast",
        "crf": 26,
        "force_key_frames": "expr:gte(t,n_forced)",
        "r": str(rate.per_second),
    }
