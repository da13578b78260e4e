"""The lesson's sound, sample by sample, from the take's sound and the timeline.

Frame ``n`` of the grid begins at sample ``round(n * 48000 / rate)``, in the take's files and in the lesson alike, so
sound and picture never drift. Where the sound jumps, both sides are crossfaded over 10 ms around the join.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from lessoncut.render.loudness import RATE_HZ, Chunk
from lessoncut.render.tone import looped, samples_at
from lessoncut.timeline.records import Edit, Gap, TakeEdit, Timeline
from lessoncut.times import FrameRate

CROSSFADE_MS = 10
_HALF = samples_at(CROSSFADE_MS) // 2


def sample_of(frame: int, rate: FrameRate) -> int:
    """The sample at which the frame begins."""
    return math.floor(Fraction(frame * RATE_HZ) / rate.per_second + Fraction(1, 2))


@dataclass(frozen=True)
class Source:
    """The take as sound: one array a file, shape (samples, channels), and the room tone taken from it."""

    files: tuple[Chunk, ...]
    tone: Chunk


def lesson_sound(timeline: Timeline, source: Source) -> Iterator[Chunk]:
    """The lesson from its first sample to its last, one chunk an edit, ``sample_of(frames)`` samples in all."""
    edits = timeline.edits
    tone_at = 0
    for index, edit in enumerate(edits):
        start, end = sample_of(edit.lesson_in, timeline.rate), sample_of(edit.lesson_out, timeline.rate)
        before = _HALF if index and not _runs_on(edits[index - 1], edit) else 0
        after = _HALF if index + 1 < len(edits) and not _runs_on(edit, edits[index + 1]) else 0
        sound = _sound_of(edit, timeline, source, start - before, end + after, tone_at)
        tone_at += end - start
        if before:
            held = _sound_of(edits[index - 1], timeline, source, start - before, start + before, tone_at)
            sound[: 2 * before] = _crossfaded(held, sound[: 2 * before])
        # The half after the end belongs to the next edit's crossfade, which asks for it again.
        middle = sound[2 * before if before else 0 : len(sound) - 2 * after if after else len(sound)]
        if before:
            yield sound[: 2 * before]
        yield middle


def _runs_on(edit: Edit, following: Edit) -> bool:
    """Whether the sound goes from one to the other without a jump."""
    if isinstance(edit, TakeEdit) and isinstance(following, TakeEdit):
        return edit.file == following.file and edit.source_out == following.source_in
    return isinstance(edit, Gap) and isinstance(following, Gap)


def _sound_of(edit: Edit, timeline: Timeline, source: Source, start: int, end: int, tone_at: int) -> Chunk:
    """What the edit sounds like between two lesson samples, which may lie a little outside it."""
    if isinstance(edit, Gap):
        return looped(source.tone, tone_at % len(source.tone) + end - start)[-(end - start) :]
    shift = sample_of(edit.source_in, timeline.rate) - sample_of(edit.lesson_in, timeline.rate)
    return _cut(source.files[edit.file], start + shift, end + shift)


def _cut(sound: Chunk, start: int, end: int) -> Chunk:
    """Samples ``[start, end)``, silent where the file has none."""
    inside = np.asarray(sound[max(0, start) : max(0, end)], dtype=np.float32)
    missing_before = min(end - start, max(0, -start))
    missing_after = (end - start) - missing_before - len(inside)
    return np.pad(inside, ((missing_before, max(0, missing_after)), (0, 0)))


def _crossfaded(out: Chunk, into: Chunk) -> Chunk:
    """Equal power: the two sides of a cut are not alike."""
    ramp = np.sin(np.linspace(0, np.pi / 2, len(out), dtype=np.float32))[:, None]
    return np.asarray(out * ramp[::-1] + into * ramp, dtype=np.float32)


def covered(sound: Chunk, spans: Sequence[tuple[int, int]], tone: Chunk) -> Chunk:
    """The sound with these stretches of samples replaced by room tone, crossfaded at both ends."""
    out = sound.copy()
    for start, end in spans:
        if end - start <= 4 * _HALF:
            continue
        fill = looped(tone, end - start)
        ramp = np.sin(np.linspace(0, np.pi / 2, 2 * _HALF, dtype=np.float32))[:, None]
        fill[: 2 * _HALF] = fill[: 2 * _HALF] * ramp + out[start : start + 2 * _HALF] * ramp[::-1]
        fill[-2 * _HALF :] = fill[-2 * _HALF :] * ramp[::-1] + out[end - 2 * _HALF : end] * ramp
        out[start:end] = fill
    return out
