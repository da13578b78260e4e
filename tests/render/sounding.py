"""Takes as arrays, without a file."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lessoncut.render.samples import RATE_HZ, Chunk
from lessoncut.timeline.records import Cover, Edit, Gap, TakeEdit, Timeline
from lessoncut.times import FrameRate, Span


@dataclass(frozen=True)
class ArrayTrack:
    """A file's sound that is just an array of shape (samples, channels)."""

    sound: Chunk

    @property
    def channels(self) -> int:
        return int(self.sound.shape[1])

    def __len__(self) -> int:
        return len(self.sound)

    def cut(self, start: int, end: int) -> Chunk:
        at = np.arange(start, end)
        inside = (at >= 0) & (at < len(self.sound))
        out = np.zeros((len(at), self.channels), np.float32)
        out[inside] = self.sound[at[inside]]
        return out


def room(length_s: float, level: float = 1e-3, channels: int = 1, seed: int = 0) -> Chunk:
    noise = np.random.default_rng(seed).standard_normal((round(length_s * RATE_HZ), channels))
    return (level * noise).astype(np.float32)


def voice(length_s: float, spans: tuple[Span, ...], level: float = 0.2, noise: float = 1e-3) -> Chunk:
    """A buzz in room tone."""
    sound = room(length_s, noise)
    at = np.arange(len(sound)) / RATE_HZ
    buzz = level * sum(np.sin(2 * np.pi * 150 * k * at) / k for k in range(1, 12))
    for span in spans:
        where = slice(span.start_ms * 48, span.end_ms * 48)
        sound[where, 0] += np.asarray(buzz)[where] * np.hanning(len(at[where])) ** 0.25
    return sound


def timeline(rate: FrameRate, *edits: tuple[int, ...], covers: tuple[Span, ...] = (), files: int = 1) -> Timeline:
    """Edits as (file, in, out); gaps as (file, held frame, frames, 0)."""
    laid: list[Edit] = []
    frame = 0
    for number, edit in enumerate(edits):
        if len(edit) == 3:
            file, start, end = edit
            laid.append(TakeEdit(file, start, end, frame, frame + end - start, "line", number))
        else:
            file, held, length, _ = edit
            laid.append(Gap(frame, frame + length, "repeat", number, file, held))
        frame = laid[-1].lesson_out
    return Timeline(rate, tuple(range(0, 60_000 * files, 60_000)), tuple(laid), tuple(map(Cover, covers)))
