"""Where sound and picture are made: a folder that goes away, and what several outputs of one lesson share."""

from __future__ import annotations

import errno
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from scipy.signal import butter, sosfilt

from lessoncut.errors import LessonFolderError
from lessoncut.files import PART, cannot_write
from lessoncut.progress import Progress, no_progress, part
from lessoncut.render.coding import on_disk
from lessoncut.render.loudness import measure
from lessoncut.render.records import Footage
from lessoncut.render.samples import RATE_HZ, Chunk
from lessoncut.render.sound import Source, lesson_sound, sample_of
from lessoncut.render.tone import Tone, tone_of
from lessoncut.render.tracks import decoded, on_grid

RUMBLE_HZ = 80
"""Voices have nothing under it; handling noise and traffic have most of theirs there (common practice, no source)."""
_MEGABYTE = 1_000_000


@dataclass(frozen=True)
class Sounding:
    """The lesson's sound before its loudness is set, and how loud the room is in it."""

    sound: Chunk
    tone_lufs: float

    @property
    def channels(self) -> int:
        return int(self.sound.shape[1])


@dataclass
class Bench:
    """One export's room. What is asked for again is there already."""

    folder: Path
    _soundings: dict[int, tuple[Footage, Sounding]] = field(default_factory=dict)

    def check_room(self, needed_bytes: int) -> None:
        """Raises LessonFolderError where the disk has not that much left."""
        free = shutil.disk_usage(self.folder).free
        if needed_bytes > free:
            raise LessonFolderError(
                f"this needs about {needed_bytes // _MEGABYTE + 1} MB, and the disk has {free // _MEGABYTE} MB left",
                where=str(self.folder.parent),
                hint="make room, or name fewer outputs with --only; then run the command again",
            )

    def sounding(self, footage: Footage, progress: Progress = no_progress) -> Sounding:
        """The whole lesson's sound. Raises TakeError, ToolError, LessonFolderError."""
        known = self._soundings.get(id(footage))
        if known is None:
            known = (footage, self._made(footage, progress))
            self._soundings[id(footage)] = known
        progress(1.0)
        return known[1]

    def _made(self, footage: Footage, progress: Progress) -> Sounding:
        timeline, take = footage.timeline, footage.take
        samples = sample_of(timeline.frames, timeline.rate)
        whole = decoded(take, footage.files_used, self.folder, part(progress, 0.0, 0.7))
        tracks = tuple(
            on_grid(track, file, timeline.rate) if number in footage.files_used else track
            for number, (track, file) in enumerate(zip(whole, take.files, strict=True))
        )
        tones = tuple(tone_of(track, footage.sounding_in(number)) for number, track in enumerate(tracks))
        source = Source(tracks, tones)
        heard = lesson_sound(timeline, source)
        if footage.wishes.high_pass:
            heard = without_rumble(heard)
        into = self.folder / f"lesson-{len(self._soundings)}.f32"
        sound = on_disk(heard, samples, source.channels, into, part(progress, 0.7, 1.0))
        for number in footage.files_used:
            (self.folder / f"track-{number}.pcm").unlink(missing_ok=True)
        return Sounding(sound, max((_tone_lufs(tones[number]) for number in footage.files_used), default=-120.0))


@contextmanager
def bench_in(folder: Path) -> Iterator[Bench]:
    """A bench in a folder of its own inside ``folder``. Raises LessonFolderError, also when the disk fills up."""
    try:
        room = tempfile.TemporaryDirectory(prefix=PART, dir=folder, ignore_cleanup_errors=True)
    except OSError as error:
        raise cannot_write(folder, error) from error
    with room as name:
        try:
            yield Bench(Path(name))
        except OSError as error:
            if error.errno not in (errno.ENOSPC, errno.EDQUOT):
                raise
            raise cannot_write(folder, error) from error


def without_rumble(chunks: Iterator[Chunk]) -> Iterator[Chunk]:
    """The sound through a gentle high-pass (second order)."""
    sections = butter(2, RUMBLE_HZ, "highpass", fs=RATE_HZ, output="sos")
    state = None
    for chunk in chunks:
        if state is None:
            state = np.zeros((len(sections), 2, chunk.shape[1]))
        filtered, state = sosfilt(sections, chunk, axis=0, zi=state)
        yield filtered.astype(np.float32)


def _tone_lufs(tone: Tone) -> float:
    """The room tone's loudness, on the scale of the programme's."""
    second = tone.cut(0, RATE_HZ)
    return max(-120.0, measure([second]).most_momentary_lufs)
