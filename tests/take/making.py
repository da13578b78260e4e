"""Tiny recordings for the tests, made with ffmpeg on the spot.

The sound is room tone with clicks at known times, which is the second opinion on every clock: a click must be found
in the decoded sound where it was put, whatever container and codec it went through.
"""

from __future__ import annotations

import subprocess
import wave
from collections.abc import Sequence
from pathlib import Path

import imageio_ffmpeg
import numpy as np
from numpy.typing import NDArray

RATE_HZ = 48_000
CLICKS_S = (1.0, 2.5)
LENGTH_S = 4.0

Sound = NDArray[np.int16]
"""Shape (samples,) or (samples, channels)."""

PICTURE = "testsrc2=s=320x180:r=30000/1001:d=4"


def ffmpeg(*arguments: str | Path) -> None:
    """The packaged ffmpeg, whichever lessoncut would take, and without its fences."""
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-hide_banner", "-loglevel", "error", "-y", *map(str, arguments)]
    subprocess.run(command, check=True, stdin=subprocess.DEVNULL)


def clicks(at_s: Sequence[float] = CLICKS_S, length_s: float = LENGTH_S, rate_hz: int = RATE_HZ) -> Sound:
    """Room tone at -60 dB and 2 ms bursts of 1.5 kHz at 0.8 of full scale."""
    sound = 1e-3 * np.random.default_rng(1).standard_normal(round(length_s * rate_hz))
    burst = 0.8 * np.sin(2 * np.pi * 1500 * np.arange(rate_hz // 500) / rate_hz)
    for at in at_s:
        start = round(at * rate_hz)
        sound[start : start + len(burst)] += burst
    return sixteen_bits(sound)


def sine(dbfs_peak: float, hz: float = 1000.0, length_s: float = 2.0, rate_hz: int = RATE_HZ) -> Sound:
    return sixteen_bits(10 ** (dbfs_peak / 20) * np.sin(2 * np.pi * hz * np.arange(length_s * rate_hz) / rate_hz))


def sixteen_bits(sound: NDArray[np.float64]) -> Sound:
    return np.rint(np.clip(sound, -1, 1) * 32767).astype(np.int16)


def write_wav(path: Path, sound: Sound, rate_hz: int = RATE_HZ) -> Path:
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1 if sound.ndim == 1 else sound.shape[1])
        file.setsampwidth(2)
        file.setframerate(rate_hz)
        file.writeframes(sound.astype("<i2").tobytes())
    return path


def found_clicks_ms(samples: NDArray[np.int16], threshold: float = 0.1) -> list[float]:
    """Where bursts begin in 16 kHz sound; what follows within half a second is the same burst."""
    loud = np.flatnonzero(np.abs(samples.astype(np.int32)) > threshold * 32768)
    return [at / 16 for index, at in enumerate(loud) if index == 0 or at - loud[index - 1] > 8000]
