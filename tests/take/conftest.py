from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.take.making import PICTURE, clicks, ffmpeg, write_wav

Recording = Callable[..., Path]


@pytest.fixture(scope="session")
def click_wav(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """4 s with clicks at 1 s and 2.5 s, mono, 48 kHz."""
    return write_wav(tmp_path_factory.mktemp("sound") / "clicks.wav", clicks())


@pytest.fixture(scope="session")
def recording(tmp_path_factory: pytest.TempPathFactory, click_wav: Path) -> Recording:
    """``recording(name, *output options, picture=..., before_sound=...)``: the clicks, with a picture or without."""
    room = tmp_path_factory.mktemp("recordings")
    made: dict[object, Path] = {}

    def make(name: str, *options: str, picture: str | None = PICTURE, before_sound: tuple[str, ...] = ()) -> Path:
        key = (name, options, picture, before_sound)
        if key not in made:
            folder = room / str(len(made))
            folder.mkdir()
            shown = () if picture is None else ("-f", "lavfi", "-i", picture)
            ffmpeg(*shown, *before_sound, "-i", click_wav, *options, folder / name)
            made[key] = folder / name
        return made[key]

    return make


@pytest.fixture(scope="session")
def mp4(recording: Recording) -> Path:
    """H.264 at 29.97 with B-frames, and AAC."""
    return recording("take.mp4", "-c:v", "libx264", "-pix_fmt", "yuv420p", "-g", "30", "-bf", "2", "-c:a", "aac")
