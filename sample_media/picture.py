"""The picture of the ferry lesson: a moored ferry, moving water, a clock, and the section's title.

Every frame says which one it is: in digits, and in the ferry's sixteen windows (``frame_in``).
"""

from __future__ import annotations

import io
import subprocess
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path

import av
import imageio_ffmpeg
import numpy as np
import numpy.typing as npt
import soundfile
import typst

from tests.evaluation.signals import Samples, to_rate

FRAME_RATE = Fraction(30000, 1001)
WIDTH, HEIGHT = 640, 360
GROUP_FRAMES = 60
"""Groups of pictures are closed and all of this length."""
SOUND_RATE_HZ = 44100

Image = npt.NDArray[np.uint8]
_SCENERY = Path(__file__).parent / "scenery.typ"
_WINDOWS = tuple((272 + 25 * (at % 8), 168 + 28 * (at // 8)) for at in range(16))
"""Left and top of each window, the lowest bit first."""
_WINDOW_PX = 14
_LIT, _DARK = (255, 208, 112), (58, 70, 96)
_CLOCK = (36 + 5 * 8, 68)
"""Left and top of the first digit: inside the panel, after "take "."""
_CELL_PX = (20, 8)
_HORIZON = 226
_SKIES = (  # top, bottom, sea; one for each section in turn: morning, day, evening, night
    ((214, 190, 190), (246, 224, 196), (122, 148, 164)),
    ((150, 188, 214), (222, 234, 238), (86, 138, 160)),
    ((94, 92, 140), (232, 168, 132), (84, 98, 136)),
    ((26, 32, 62), (70, 80, 122), (38, 50, 88)),
)
_WAVES = ((262.0, 4.0, 190.0, 0.11, 0.92), (292.0, 5.0, 260.0, -0.07, 0.8), (326.0, 6.0, 340.0, 0.05, 0.66))
"""Level, height and length in pixels, crests a second that pass, and how dark."""


@dataclass(frozen=True)
class Shown:
    """The picture carries this title from here on."""

    title: str
    start_s: float


def frame_in(image: Image) -> int:
    """The frame's number (modulo 65536) as its windows tell it: Gray code, one window changes from frame to frame."""
    number = 0
    for left, top in reversed(_WINDOWS):
        inside = image[top + 3 : top + _WINDOW_PX - 3, left + 3 : left + _WINDOW_PX - 3]
        lit = float(inside[..., 0].mean()) > (_LIT[0] + _DARK[0]) / 2
        number = number << 1 | (lit ^ (number & 1))
    return number


def write_film(sound: Samples, rate_hz: int, titles: tuple[Shown, ...], to: Path) -> None:
    """H.264 and AAC in an MP4; the picture lasts as long as the sound."""
    frames = -(-len(sound) * FRAME_RATE // rate_hz)
    with tempfile.TemporaryDirectory() as spare:
        plain = Path(spare) / "plain.wav"
        soundfile.write(plain, np.clip(to_rate(sound, rate_hz, SOUND_RATE_HZ), -1, 1), SOUND_RATE_HZ, subtype="PCM_16")
        command = [
            imageio_ffmpeg.get_ffmpeg_exe(),
            "-y",
            "-loglevel",
            "error",
            "-f",
            "rawvideo",
            "-pix_fmt",
            "rgb24",
            "-s",
            f"{WIDTH}x{HEIGHT}",
            "-r",
            str(FRAME_RATE),
            "-i",
            "pipe:0",
            "-i",
            str(plain),
            "-map",
            "0:v",
            "-map",
            "1:a",
            "-vf",
            "scale=out_color_matrix=bt709:out_range=tv,setparams=color_primaries=bt709:color_trc=bt709",
            "-pix_fmt",
            "yuv420p",
            "-c:v",
            "libx264",
            "-preset",
            "medium",
            "-crf",
            "26",
            "-g",
            str(GROUP_FRAMES),
            "-keyint_min",
            str(GROUP_FRAMES),
            "-sc_threshold",
            "0",
            "-flags:v",
            "+cgop+bitexact",
            "-threads",
            "1",
            "-c:a",
            "aac",
            "-b:a",
            "64k",
            "-flags:a",
            "+bitexact",
            "-fflags",
            "+bitexact",
            "-map_metadata",
            "-1",
            "-movflags",
            "+faststart",
            str(to),
        ]
        with subprocess.Popen(command, stdin=subprocess.PIPE) as encoder:
            if encoder.stdin is None:
                raise OSError("ffmpeg takes no picture")
            for image in images(titles, int(frames)):
                encoder.stdin.write(image.tobytes())
        if encoder.returncode:
            raise subprocess.CalledProcessError(encoder.returncode, command)


def images(titles: tuple[Shown, ...], frames: int) -> Iterator[Image]:
    """The frames in order."""
    for frame in range(frames):
        at_s = float(frame / FRAME_RATE)
        section = max(at for at, shown in enumerate(titles) if shown.start_s <= at_s)
        image = _still(titles[section].title, section).copy()
        _light_windows(image, frame)
        _set_clock(image, frame, at_s)
        _roll_water(image, at_s, _SKIES[section % len(_SKIES)][2])
        yield np.rint(image).astype(np.uint8)


@cache
def _still(title: str, section: int) -> npt.NDArray[np.float64]:
    """Sky, sea, ferry and panels."""
    top, bottom, sea = (np.array(colour, dtype=np.float64) for colour in _SKIES[section % len(_SKIES)])
    share = np.clip(np.arange(HEIGHT) / _HORIZON, 0, 1)[:, None, None]
    image = np.broadcast_to(top * (1 - share) + bottom * share, (HEIGHT, WIDTH, 3)).copy()
    image[_HORIZON:] = sea
    layer = _drawn(title)
    cover = layer[..., 3:] / 255.0
    return np.asarray(image * (1 - cover) + layer[..., :3] * cover, dtype=np.float64)


@cache
def _glyphs() -> dict[str, npt.NDArray[np.float64]]:
    """How much of each pixel a digit covers."""
    strip = _drawn("")[..., 3] / 255.0
    width = _CELL_PX[1]
    return {letter: strip[:, width * at : width * (at + 1)] for at, letter in enumerate("0123456789:.")}


def _drawn(title: str) -> npt.NDArray[np.float64]:
    """Red, green, blue and cover, 0 to 255: the scenery with this title, or the digits where it is empty."""
    png = typst.compile(str(_SCENERY), format="png", ppi=72.0, sys_inputs={"title": title})
    with av.open(io.BytesIO(png)) as opened:
        return np.asarray(next(opened.decode(video=0)).to_ndarray(format="rgba"), dtype=np.float64)


def _light_windows(image: npt.NDArray[np.float64], frame: int) -> None:
    gray = frame ^ (frame >> 1)
    for bit, (left, top) in enumerate(_WINDOWS):
        image[top : top + _WINDOW_PX, left : left + _WINDOW_PX] = _LIT if gray >> bit & 1 else _DARK


def _set_clock(image: npt.NDArray[np.float64], frame: int, at_s: float) -> None:
    minutes, rest_s = divmod(at_s, 60)
    height, width = _CELL_PX
    left, top = _CLOCK
    for at, letter in enumerate(f"00:{int(minutes):02d}:{int(rest_s * 1000) / 1000:06.3f}       {frame:06d}"):
        if letter != " ":
            place = image[top : top + height, left + width * at : left + width * (at + 1)]
            place += (255 - place) * _glyphs()[letter][..., None]


def _roll_water(image: npt.NDArray[np.float64], at_s: float, sea: tuple[int, int, int]) -> None:
    across = np.arange(WIDTH)
    for level, tall, long, pace_hz, shade in _WAVES:
        swell = 2 * np.pi * (across / long + pace_hz * at_s)
        surface = level + tall * (np.sin(swell) + 0.3 * np.sin(2 * swell + 1))
        first = int(surface.min()) - 1
        cover = np.clip(np.arange(first, HEIGHT)[:, None] - surface + 0.5, 0, 1)[..., None]
        below = image[first:]
        below += (np.array(sea) * shade - below) * cover
