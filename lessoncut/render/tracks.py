"""The take's own sound for the lesson: 48 kHz, in its own channels, on the disk.

A file with one microphone is mono, whichever of its channels carries it; one with two live channels stays stereo;
more channels are mixed to one, like those that the analysis listens to.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from lessoncut.files import cannot_write
from lessoncut.progress import Progress, no_progress, shares
from lessoncut.render.loudness import RATE_HZ, Chunk
from lessoncut.take.decode import timed_pcm
from lessoncut.take.mix import ChannelTally, Mix
from lessoncut.take.records import Take, TakeFile

_FULL_SCALE = np.float32(32_768.0)


class Track(Protocol):
    """One file's sound; sample ``n`` is at ``n / RATE_HZ`` seconds from the file's start."""

    @property
    def channels(self) -> int: ...

    def __len__(self) -> int: ...

    def cut(self, start: int, end: int) -> Chunk:
        """Samples ``[start, end)``, shape (samples, channels), silent where the file has none."""


@dataclass(frozen=True)
class FileTrack:
    """``recorded`` has shape (samples, the file's channels); ``mix`` makes one channel of them."""

    recorded: NDArray[np.int16]
    mix: Mix | None

    @property
    def channels(self) -> int:
        return 1 if self.mix else self.recorded.shape[1]

    def __len__(self) -> int:
        return len(self.recorded)

    def cut(self, start: int, end: int) -> Chunk:
        inside = self.recorded[max(0, start) : max(0, end)]
        heard = ((inside - self.mix.offsets) @ self.mix.weights)[:, None] if self.mix else inside
        before = min(end - start, max(0, -start))
        after = end - start - before - len(inside)
        return np.pad(heard.astype(np.float32) / _FULL_SCALE, ((before, after), (0, 0)))


def decoded(take: Take, wanted: Collection[int], folder: Path, progress: Progress = no_progress) -> tuple[Track, ...]:
    """The sound of the files whose numbers are wanted, kept in ``folder``; the others are silent.

    Raises TakeError, ToolError, LessonFolderError.
    """
    steps = iter(shares(progress, [take.files[number].duration_ms for number in sorted(wanted)]))
    return tuple(
        _decoded(file, folder / f"track-{number}.pcm", next(steps)) if number in wanted else _SILENCE
        for number, file in enumerate(take.files)
    )


_SILENCE = FileTrack(np.zeros((0, 1), dtype=np.int16), None)


def _decoded(file: TakeFile, into: Path, progress: Progress) -> FileTrack:
    channels = file.sound.channels
    tally = ChannelTally(channels)
    length = file.duration_ms * RATE_HZ // 1000
    try:
        with into.open("wb") as out:
            for chunk in timed_pcm(file, rate_hz=RATE_HZ, channels=channels):
                tally.add(np.frombuffer(chunk, "<i2").reshape(-1, channels))
                out.write(chunk)
                progress(out.tell() / (length * 2 * channels))
        recorded = np.memmap(into, dtype="<i2", mode="r", shape=(length, channels))
    except OSError as error:
        raise cannot_write(into, error) from error
    return FileTrack(recorded, None if channels == 1 or _is_stereo(tally.mix()) else tally.mix())


def _is_stereo(mix: Mix) -> bool:
    """Two channels that are both live and do not cancel each other."""
    return len(mix.weights) == 2 and bool(np.all(mix.weights > 0))
