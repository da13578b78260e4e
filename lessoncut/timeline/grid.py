"""The grid of frames on which everything lies, and the take's files on it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from lessoncut.take.records import Take
from lessoncut.times import FrameRate

SOUND_RATE = FrameRate(Fraction(100))
"""For takes without a picture: hundredths of a second."""
STEADY_RATES = tuple(
    FrameRate(Fraction(over, under))
    for over, under in ((24000, 1001), (24, 1), (25, 1), (30000, 1001), (30, 1), (50, 1), (60000, 1001), (60, 1))
)
"""The rates of television and film (SMPTE ST 12-1 names the same)."""
_FASTEST = 121


def grid_rate(take: Take) -> FrameRate:
    """The picture's own rate where its frames are steady, else the steady rate nearest to it."""
    picture = take.picture
    if picture is None:
        return SOUND_RATE
    if picture.steady and picture.rate.per_second < _FASTEST:
        return picture.rate
    return min(STEADY_RATES, key=lambda rate: abs(rate.per_second - picture.rate.per_second))


@dataclass(frozen=True)
class Ground:
    """The take's files on the grid. File times are take times; frames count from the start of their file."""

    rate: FrameRate
    starts_ms: tuple[int, ...]
    ends_ms: tuple[int, ...]

    def file_at(self, take_ms: int) -> int:
        """The file that take time lies in; the last one for the take's very end."""
        return next((at for at, end in enumerate(self.ends_ms) if take_ms < end), len(self.ends_ms) - 1)

    def at(self, file: int, take_ms: int) -> Fraction:
        """Take time in frames of that file, exactly."""
        return Fraction(take_ms - self.starts_ms[file], 1000) * self.rate.per_second

    def floor(self, file: int, take_ms: int) -> int:
        return math.floor(self.at(file, take_ms))

    def ceil(self, file: int, take_ms: int) -> int:
        return math.ceil(self.at(file, take_ms))

    def nearest(self, file: int, take_ms: int) -> int:
        return math.floor(self.at(file, take_ms) + Fraction(1, 2))

    def take_ms(self, file: int, frame: int) -> Fraction:
        """When the frame starts, exactly."""
        return self.starts_ms[file] + frame * 1000 / self.rate.per_second

    def frames_of(self, length_ms: Fraction | int) -> Fraction:
        return Fraction(length_ms) / 1000 * self.rate.per_second


def ground_of(take: Take) -> Ground:
    spans = take.spans
    return Ground(grid_rate(take), tuple(span.start_ms for span in spans), tuple(span.end_ms for span in spans))
