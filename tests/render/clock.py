"""Takes that carry their own clock: every picture its number in black and white blocks, every sound its place.

The sound is noise that never repeats, so that a stretch of it can be found again to the sample; it is the second clock.
"""

from __future__ import annotations

import subprocess
from collections.abc import Iterator
from fractions import Fraction
from functools import cache
from pathlib import Path

import av
import imageio_ffmpeg
import numpy as np
from numpy.typing import NDArray

from lessoncut.render.samples import RATE_HZ, Chunk
from tests.take.making import ffmpeg, write_wav

WIDTH, HEIGHT = 160, 96
_BLOCK = 20
_BITS = 16

Luma = NDArray[np.uint8]
"""Shape (height, width)."""


def drawn(number: int, width: int = WIDTH, height: int = HEIGHT) -> Luma:
    """Sixteen blocks in two rows, the lowest bit first, over a ground that moves."""
    x, y = np.meshgrid(np.arange(width), np.arange(height))
    waves = np.sin((x + 3 * number) / 9.0) + np.sin((y + number) / 7.0)
    picture: Luma = (96 + 24 * waves).astype(np.uint8)
    for bit in range(_BITS):
        row, column = divmod(bit, 8)
        value = 235 if number >> bit & 1 else 16
        picture[row * 24 + 4 : row * 24 + 24, column * _BLOCK : (column + 1) * _BLOCK] = value
    return picture


def read_off(picture: Luma) -> int:
    """The number in a picture of any size, upright."""
    height, width = picture.shape
    number = 0
    for bit in range(_BITS):
        row, column = divmod(bit, 8)
        y, x = (row * 24 + 14) * height // HEIGHT, (column * _BLOCK + 10) * width // WIDTH
        number |= int(picture[y - 1 : y + 2, x - 1 : x + 2].mean() > 128) << bit
    return number


@cache
def noise(length_s: float, seed: int = 7, channels: int = 1) -> Chunk:
    """Noise of the voice band that never repeats."""
    length = round(length_s * RATE_HZ)
    white = np.fft.rfft(np.random.default_rng(seed).standard_normal((length, channels)), axis=0)
    hz = np.fft.rfftfreq(length, 1 / RATE_HZ)
    white[(hz < 200) | (hz > 5000)] = 0
    sound = np.fft.irfft(white, length, axis=0)
    return np.asarray(0.15 * sound / sound.std(), dtype=np.float32)


def take(
    path: Path,
    *options: str,
    rate: Fraction = Fraction(30),
    length_s: float = 8,
    turned: int = 0,
    sound: Chunk | None = None,
    before_sound: tuple[str, ...] = (),
    first: int = 0,
    seed: int = 7,
) -> Path:
    """A recording with both clocks; picture ``n`` stands at ``n / rate``. ``turned`` quarter turns are in the pixels,
    as in a recorder that is held upright."""
    frames = round(length_s * rate)
    heard = noise(length_s, seed) if sound is None else sound
    wav = write_wav(path.with_suffix(".clock.wav"), np.rint(np.clip(heard, -1, 1) * 32767).astype(np.int16))
    raw = path.with_suffix(".clock.y")
    with raw.open("wb") as out:
        for number in range(first, first + frames):
            out.write(np.rot90(drawn(number), turned).tobytes())
    width, height = (WIDTH, HEIGHT) if turned % 2 == 0 else (HEIGHT, WIDTH)
    ffmpeg(
        "-f", "rawvideo", "-pix_fmt", "gray", "-s", f"{width}x{height}", "-r", str(rate), "-i", raw,
        *before_sound, "-i", wav, "-map", "0:v", "-map", "1:a", "-pix_fmt", "yuv420p", *options, path,
    )  # fmt: skip
    raw.unlink()
    wav.unlink()
    return path


def pictures(path: Path) -> list[int]:
    """The numbers in all pictures as a player shows them, upright, one a frame."""
    return [read_off(picture) for picture in frames_of(path)]


def frames_of(path: Path) -> Iterator[Luma]:
    """All pictures, upright."""
    width, height = size_of(path)
    done = subprocess.run(
        [
            imageio_ffmpeg.get_ffmpeg_exe(), "-v", "error", "-i", path, "-map", "0:v:0", "-f", "rawvideo", "-pix_fmt",
            "gray", "-fps_mode", "passthrough", "-",
        ],
        check=True, capture_output=True,
    ).stdout  # fmt: skip
    for at in range(0, len(done), width * height):
        yield np.frombuffer(done, np.uint8, width * height, at).reshape(height, width)


def size_of(path: Path) -> tuple[int, int]:
    """As seen."""
    with av.open(str(path)) as container:
        frame = next(container.decode(container.streams.video[0]))
        return (frame.width, frame.height) if frame.rotation % 180 == 0 else (frame.height, frame.width)


def sound_in(path: Path, channels: int = 1) -> Chunk:
    """The sound as a player plays it, at 48 kHz."""
    done = subprocess.run(
        [
            imageio_ffmpeg.get_ffmpeg_exe(), "-v", "error", "-i", path, "-map", "0:a:0", "-f", "f32le", "-ar",
            str(RATE_HZ), "-ac", str(channels), "-",
        ],
        check=True, capture_output=True,
    ).stdout  # fmt: skip
    return np.frombuffer(done, "<f4").reshape(-1, channels)


def found_at(part: Chunk, whole: Chunk) -> tuple[int, float]:
    """Where in the whole the part is heard, in samples, and how alike they are there (1.0: the same)."""
    size = 1 << (len(part) + len(whole)).bit_length()
    spectrum = np.fft.rfft(whole[:, 0], size) * np.conj(np.fft.rfft(part[:, 0], size))
    match = np.fft.irfft(spectrum, size)[: len(whole)]
    at = int(match.argmax())
    there = whole[at : at + len(part), 0]
    alike = match[at] / max(1e-9, float(np.linalg.norm(part[:, 0]) * np.linalg.norm(there)))
    return at, float(alike)
