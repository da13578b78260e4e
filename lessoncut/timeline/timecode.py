"""SMPTE ST 12-1 timecode: labels for frames.

At 30000/1001 frames a second, labels that count 30 to the second fall behind the clock. Drop frame skips the labels
;00 and ;01 (at 60000/1001: ;00 to ;03) at the start of every minute but each tenth, so that they keep up. No frame is
ever dropped.
"""

from __future__ import annotations

import re
from fractions import Fraction

from lessoncut.times import FrameRate

_LABEL = re.compile(r"(\d\d):(\d\d):(\d\d)([:;])(\d\d)")
_SKIPPED = {Fraction(30000, 1001): 2, Fraction(60000, 1001): 4}


def drops(rate: FrameRate) -> bool:
    """Whether drop frame is defined at that rate."""
    return rate.per_second in _SKIPPED


def timecode(frame: int, rate: FrameRate, *, drop_frame: bool) -> str:
    """The frame's label, ``hh:mm:ss:ff`` or with drop frame ``hh:mm:ss;ff``; it starts anew after 24 hours.

    Raises ValueError for a negative frame, and for drop frame at a rate that has none.
    """
    if frame < 0:
        raise ValueError(f"a frame cannot be negative: {frame}")
    counted = _counted(rate)
    if drop_frame:
        skipped = _skipped(rate)
        per_minute = 60 * counted - skipped
        per_ten = 10 * 60 * counted - 9 * skipped
        tens, rest = divmod(frame, per_ten)
        # The first minute of every ten is a full one; each of the nine that follow skips labels at its start.
        minutes = 0 if rest < 60 * counted else 1 + (rest - 60 * counted) // per_minute
        frame += skipped * (9 * tens + minutes)
    seconds, frames = divmod(frame, counted)
    minutes, seconds = divmod(seconds, 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours % 24:02d}:{minutes:02d}:{seconds:02d}{';' if drop_frame else ':'}{frames:02d}"


def frame_of(label: str, rate: FrameRate) -> int:
    """The frame that the label names; a semicolon says drop frame.

    Raises ValueError for what is no label, and for labels that drop frame skips.
    """
    match = _LABEL.fullmatch(label)
    if match is None:
        raise ValueError(f"not a timecode: {label!r}")
    hours, minutes, seconds, frames = (int(match.group(at)) for at in (1, 2, 3, 5))
    counted = _counted(rate)
    if hours > 23 or minutes > 59 or seconds > 59 or frames >= counted:
        raise ValueError(f"no such timecode at {counted} frames a second: {label!r}")
    plain = ((hours * 60 + minutes) * 60 + seconds) * counted + frames
    if match.group(4) == ":":
        return plain
    skipped = _skipped(rate)
    if minutes % 10 and seconds == 0 and frames < skipped:
        raise ValueError(f"drop frame skips this label: {label!r}")
    passed = hours * 60 + minutes
    return plain - skipped * (passed - passed // 10)


def _counted(rate: FrameRate) -> int:
    """Labels to the second: 30 for 29.97."""
    counted = round(rate.per_second)
    if not 1 <= counted <= 99:
        raise ValueError(f"there is no timecode at {rate.per_second} frames a second")
    return counted


def _skipped(rate: FrameRate) -> int:
    if not drops(rate):
        raise ValueError(f"there is no drop frame at {rate.per_second} frames a second")
    return _SKIPPED[rate.per_second]
