"""The lesson's sound, sample by sample, from the take's sound and the timeline.

Frame ``n`` of the grid begins at sample ``round(n * 48000 / rate)``, in the take's files and in the lesson alike, so
sound and picture never drift. Where the sound jumps, both sides are crossfaded over 10 ms around the join.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

import numpy as np

from lessoncut.render.samples import RATE_HZ, Chunk, samples_at
from lessoncut.render.tone import Tone
from lessoncut.render.tracks import Track
from lessoncut.timeline.records import Edit, Gap, TakeEdit, Timeline
from lessoncut.times import FrameRate

CROSSFADE_MS = 10
_HALF = samples_at(CROSSFADE_MS) // 2


def sample_of(frame: int, rate: FrameRate) -> int:
    """The sample at which the frame begins."""
    return math.floor(Fraction(frame * RATE_HZ) / rate.per_second + Fraction(1, 2))


@dataclass(frozen=True)
class Source:
    """The take as sound: its files, and the room tone of each."""

    tracks: tuple[Track, ...]
    tones: tuple[Tone, ...]

    @property
    def channels(self) -> int:
        return max((track.channels for track in self.tracks), default=1)


def lesson_sound(timeline: Timeline, source: Source) -> Iterator[Chunk]:
    """The lesson from its first sample to its last, ``sample_of(frames)`` samples in all, in ``source.channels``."""
    covers = [
        (samples_at(cover.lesson_span.start_ms), samples_at(cover.lesson_span.end_ms)) for cover in timeline.covers
    ]
    pieces = [_Piece(edit, timeline, source) for edit in timeline.edits]
    fades = [0, *(_fade(one, other) for one, other in pairwise(pieces)), 0]
    for index, piece in enumerate(pieces):
        before, after = fades[index], fades[index + 1]
        if before:
            start, end = piece.start - before, piece.start + before
            sides = (_covered(side, side.cut(start, end), start, covers) for side in (pieces[index - 1], piece))
            yield _crossfaded(*sides)
        start, end = piece.start + before, piece.end - after
        yield _covered(piece, piece.cut(start, end), start, covers)


@dataclass(frozen=True)
class _Piece:
    """What one edit sounds like; it can be asked for samples a little outside itself."""

    edit: Edit
    timeline: Timeline
    source: Source

    @property
    def start(self) -> int:
        return sample_of(self.edit.lesson_in, self.timeline.rate)

    @property
    def end(self) -> int:
        return sample_of(self.edit.lesson_out, self.timeline.rate)

    def cut(self, start: int, end: int) -> Chunk:
        """Lesson samples ``[start, end)``."""
        if isinstance(self.edit, Gap):
            return self.tone(start, end)
        shift = sample_of(self.edit.source_in, self.timeline.rate) - self.start
        return self._spread(self.source.tracks[self.edit.file].cut(start + shift, end + shift))

    def tone(self, start: int, end: int) -> Chunk:
        """The room tone of this place; it runs on from sample to sample of the lesson."""
        edit, rate = self.edit, self.timeline.rate
        file, frame = (edit.hold_file, edit.hold_frame) if isinstance(edit, Gap) else (edit.file, edit.source_in)
        tone = self.source.tones[file]
        return self._spread(tone.cut(start, end) * np.float32(tone.gain_near(rate.start_ms(frame))))

    def _spread(self, sound: Chunk) -> Chunk:
        return sound if sound.shape[1] == self.source.channels else np.repeat(sound, self.source.channels, axis=1)


def _fade(one: _Piece, other: _Piece) -> int:
    """Half the length of the crossfade between two neighbours; 0 where the sound runs on without a jump."""
    if runs_on(one.edit, other.edit):
        return 0
    return min(_HALF, (one.end - one.start) // 2, (other.end - other.start) // 2)


def runs_on(edit: Edit, following: Edit) -> bool:
    """Whether the sound goes from one edit to the next without a jump."""
    if isinstance(edit, TakeEdit) and isinstance(following, TakeEdit):
        return edit.file == following.file and edit.source_out == following.source_in
    if isinstance(edit, Gap) and isinstance(following, Gap):
        return (edit.hold_file, edit.hold_frame) == (following.hold_file, following.hold_frame)
    return False


def _crossfaded(out: Chunk, into: Chunk) -> Chunk:
    """Equal power: the two sides of a cut are not alike."""
    ramp = _ramp(len(out))
    return np.asarray(out * ramp[::-1] + into * ramp, dtype=np.float32)


def _ramp(length: int) -> Chunk:
    return np.sin(np.linspace(0, np.pi / 2, length, dtype=np.float32))[:, None]


def _covered(piece: _Piece, sound: Chunk, start: int, covers: list[tuple[int, int]]) -> Chunk:
    """The sound, which begins at lesson sample ``start``, with room tone over what is to be covered.

    It fades where the cover begins and ends, and not at a join that it goes on over.
    """
    for cover_start, cover_end in covers:
        first, last = max(cover_start, start), min(cover_end, start + len(sound))
        if last <= first:
            continue
        at = np.arange(first, last)
        fade = max(1, min(2 * _HALF, (cover_end - cover_start) // 2))
        inside = np.minimum(np.minimum(at - cover_start, cover_end - 1 - at) / fade, 1) * (np.pi / 2)
        under = sound[first - start : last - start]
        under[:] = piece.tone(first, last) * np.sin(inside)[:, None] + under * np.cos(inside)[:, None]
    return sound
