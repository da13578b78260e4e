"""The take: one file, or several in order, as one stretch of time."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import accumulate

from lessoncut.times import FrameRate, Span


@dataclass(frozen=True)
class Picture:
    """The file's first video stream, cover pictures apart.

    ``width`` and ``height`` are in square pixels, before the rotation.
    """

    width: int
    height: int
    rotation_deg: int
    """How far to turn it clockwise to see it upright: 0, 90, 180 or 270."""
    rate: FrameRate
    steady: bool
    """False when the file's frames do not lie on the grid of ``rate`` (a phone's variable frame rate)."""
    codec: str
    pixel_format: str
    interlaced: bool
    timecode: str | None = None
    """The label that the camera gave the first frame, ``hh:mm:ss:ff`` or with drop frame ``hh:mm:ss;ff``."""


@dataclass(frozen=True)
class SoundTrack:
    """The audio stream that is used (the file's default one)."""

    codec: str
    sample_rate_hz: int
    channels: int
    index: int = 0
    """Which of the file's audio streams, counted from 0."""


@dataclass(frozen=True)
class TakeFile:
    """One media file of the take. ``sha256`` is of its content."""

    path: str
    """Absolute."""
    sha256: str
    size_bytes: int
    start_ms: int
    """The file's own start time; take time 0 is there."""
    duration_ms: int
    """From there to the end of the sound that is in the file."""
    sound: SoundTrack
    picture: Picture | None


@dataclass(frozen=True)
class Take:
    """One or more files, end to end; take time runs through all of them."""

    files: tuple[TakeFile, ...]

    @property
    def duration_ms(self) -> int:
        return sum(file.duration_ms for file in self.files)

    @property
    def spans(self) -> tuple[Span, ...]:
        """Where each file stands in take time."""
        ends = tuple(accumulate(file.duration_ms for file in self.files))
        return tuple(Span(end - file.duration_ms, end) for file, end in zip(self.files, ends, strict=True))

    @property
    def picture(self) -> Picture | None:
        """The first file's picture: it sets the lesson's size and frame grid."""
        return self.files[0].picture
