"""How loud a programme is to be."""

from __future__ import annotations

from lessoncut.render.records import Wishes

STEREO_LUFS = -16.0
MONO_LUFS = -19.0
"""Common for speech that is published online (AES TD1004 asks for -20 to -16); the same voice on one channel measures
3 LU lower than on two."""
HIGHEST_DBTP = -1.0
"""EBU R 128: the most that a true peak may reach."""
CODED_CEILING_DBTP = -1.5
"""What goes into a lossy coder is kept a little lower: coding moves the peaks."""


def target_lufs(wishes: Wishes, channels: int) -> float | None:
    """The loudness wanted; None where it is to be left alone."""
    if wishes.loudness == "off":
        return None
    return default_target_lufs(channels) if wishes.loudness == "standard" else float(wishes.loudness)


def default_target_lufs(channels: int) -> float:
    return MONO_LUFS if channels == 1 else STEREO_LUFS
