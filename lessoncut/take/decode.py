"""Turns recordings into sound that keeps the take's time.

A sample's place is when the file says that it is heard, counted from the file's start: gaps in the sound are filled
with silence, an edit list and a codec's priming are honoured, a late microphone starts late.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import IO

import numpy as np

from lessoncut.errors import LessonFolderError
from lessoncut.ffmpeg import piped, read, source, target
from lessoncut.files import cannot_write, in_the_making
from lessoncut.progress import Progress, no_progress, shares
from lessoncut.take.mix import ChannelTally
from lessoncut.take.records import Take, TakeFile
from lessoncut.take.samples import PER_MS, RATE_HZ, Samples

HOLD_S = 0.02
"""Clocks jitter by less than this (times rounded to milliseconds, a browser's recorder); what is more is a gap.
Half a frame at 25 frames a second."""

_BLOCK_SAMPLES = 1 << 16


def decode(take: Take, into: Path, progress: Progress = no_progress) -> Samples:
    """Write the take's sound to ``into`` (NumPy's .npy) and map it; ``duration_ms * PER_MS`` samples.

    A channel without a microphone does not halve the level, and no constant offset is left. Memory does not grow with
    the take. Raises TakeError, ToolError, LessonFolderError.
    """
    header = {"descr": "<i2", "fortran_order": False, "shape": (take.duration_ms * PER_MS,)}
    steps = shares(progress, [file.duration_ms for file in take.files])
    with in_the_making(into) as unfinished:
        try:
            with unfinished.open("wb") as out:
                np.lib.format.write_array_header_1_0(out, header)
                for file, step in zip(take.files, steps, strict=True):
                    _append(file, out, into.parent, step)
        except OSError as error:
            raise cannot_write(into, error) from error
    return mapped(into)


def mapped(path: Path) -> Samples:
    """The sound that ``decode`` wrote, read from the disk as it is used. Raises LessonFolderError."""
    try:
        samples: Samples = np.load(path, mmap_mode="r", allow_pickle=False)
    except (OSError, ValueError, EOFError) as error:
        raise LessonFolderError("the decoded sound cannot be read", where=str(path), hint="delete it") from error
    if samples.dtype != np.int16 or samples.ndim != 1:
        raise LessonFolderError("this is not decoded sound", where=str(path), hint="delete it")
    return samples


def timed_pcm(file: TakeFile, *, rate_hz: int, channels: int) -> Iterator[bytes]:
    """One file's sound as interleaved 16-bit PCM in take time, exactly ``duration_ms`` long; every chunk whole frames.

    Two ffmpegs in a row: the first leaves every frame its time, the second sets them in their places. One alone
    starts over at time 0 whenever the recording's channels change (the second never sees a change).
    """
    start_s = file.start_ms / 1000
    heard = (
        source(Path(file.path), copyts=None)[f"a:{file.sound.index}"]
        .filter("asetpts", f"PTS-({start_s:.3f})/TB")
        .filter("atrim", start=0)
    )
    stamped = read(target(heard, format="nut", acodec="pcm_s16le", ar=rate_hz, ac=channels), blame=file.path)
    placed = piped(format="nut", copyts=None).audio.filter(
        "aresample", **{"async": 1, "min_hard_comp": HOLD_S, "first_pts": 0}
    )
    frame_bytes = 2 * channels
    left = file.duration_ms * rate_hz // 1000 * frame_bytes
    chunk_bytes = _BLOCK_SAMPLES * frame_bytes
    with closing(read(target(placed, format="s16le"), chunk_bytes=chunk_bytes, stdin=stamped)) as chunks:
        for chunk in chunks:
            yield chunk[:left]
            left -= len(chunk[:left])
            if not left:
                return
    while left:
        silence = bytes(min(left, chunk_bytes))
        left -= len(silence)
        yield silence


def _append(file: TakeFile, out: IO[bytes], room: Path, progress: Progress) -> None:
    """One file's sound, mixed down; its channels wait in a nameless file until all of them are known."""
    channels = file.sound.channels
    whole = file.duration_ms * PER_MS * 2 * channels
    tally = ChannelTally(channels)
    with tempfile.TemporaryFile(dir=room) as waiting:
        for chunk in timed_pcm(file, rate_hz=RATE_HZ, channels=channels):
            tally.add(np.frombuffer(chunk, "<i2").reshape(-1, channels))
            waiting.write(chunk)
            progress(0.9 * waiting.tell() / whole)
        waiting.seek(0)
        mix = tally.mix()
        while chunk := waiting.read(_BLOCK_SAMPLES * 2 * channels):
            out.write(mix.apply(np.frombuffer(chunk, "<i2").reshape(-1, channels)).astype("<i2").tobytes())
    progress(1.0)
