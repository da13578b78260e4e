"""The take's own sound for the lesson: 48 kHz, in its own channels, on the disk.

A file with one microphone is mono, whichever of its channels carries it; one with two live channels stays stereo;
more channels are mixed to one, like those that the analysis listens to.
"""

from __future__ import annotations

from collections.abc import Collection
from contextlib import closing
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from lessoncut.ffmpeg import read, source, target
from lessoncut.files import cannot_write
from lessoncut.progress import Progress, no_progress, shares
from lessoncut.render.encoding import grid_zero_s
from lessoncut.render.samples import RATE_HZ, Chunk
from lessoncut.take.decode import HOLD_S, timed_pcm
from lessoncut.take.mix import ChannelTally, Mix
from lessoncut.take.records import Take, TakeFile
from lessoncut.times import FrameRate, Span

_FULL_SCALE = np.float32(32_768.0)
_ENTRY_MS = 500
"""Decoding begins so much earlier than what is wanted: coders need a run-up."""


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
        _decoded(file, folder / f"track-{number}.pcm", next(steps)) if number in wanted else SILENCE
        for number, file in enumerate(take.files)
    )


SILENCE = FileTrack(np.zeros((0, 1), dtype=np.int16), None)


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


@dataclass(frozen=True)
class PartTrack:
    """A stretch of one file's sound, from sample ``first`` on; the rest of it is silent."""

    part: Track
    first: int
    length: int

    @property
    def channels(self) -> int:
        return self.part.channels

    def __len__(self) -> int:
        return self.length

    def cut(self, start: int, end: int) -> Chunk:
        return self.part.cut(start - self.first, end - self.first)


def decoded_part(file: TakeFile, wanted: Span) -> PartTrack:
    """The sound of a stretch of a file, in the file's own time, in memory. Raises TakeError, ToolError."""
    channels = file.sound.channels
    first = wanted.start_ms * RATE_HZ // 1000
    count = wanted.length_ms * RATE_HZ // 1000
    before_s = max(0, wanted.start_ms - _ENTRY_MS) / 1000
    entered = {"ss": f"{before_s:.3f}"} if before_s else {}
    heard = source(Path(file.path), copyts=None, **entered)[f"a:{file.sound.index}"]
    heard = heard.filter("asetpts", f"PTS-({file.start_ms / 1000:.3f})/TB")
    # Two steps: the place of the first sample is counted at the rate that goes in.
    heard = heard.filter("aresample", RATE_HZ)
    placed = heard.filter("aresample", RATE_HZ, **{"async": 1, "min_hard_comp": HOLD_S, "first_pts": first})
    job = target(placed, format="s16le", ar=RATE_HZ, ac=channels)
    with closing(read(job, chunk_bytes=count * 2 * channels, blame=file.path)) as chunks:
        content = next(chunks, b"")
    samples = np.zeros((count, channels), dtype="<i2")
    there = np.frombuffer(content, "<i2").reshape(-1, channels)[:count]
    samples[: len(there)] = there
    tally = ChannelTally(channels)
    tally.add(samples)
    mixed = None if channels == 1 or _is_stereo(tally.mix()) else tally.mix()
    return PartTrack(FileTrack(samples, mixed), first, file.duration_ms * RATE_HZ // 1000)


def on_grid(track: Track, file: TakeFile, rate: FrameRate) -> Track:
    """The same sound, counted from where the grid's frame 0 begins: sound and picture of a file stay together where
    its pictures begin a part of a frame late. Raises TakeError."""
    late_s = grid_zero_s(file, rate) - Fraction(file.start_ms, 1000)
    return PartTrack(track, -round(late_s * RATE_HZ), len(track)) if late_s else track


def _is_stereo(mix: Mix) -> bool:
    """Two channels that are both live and do not cancel each other."""
    return len(mix.weights) == 2 and bool(np.all(mix.weights > 0))
