"""The sound of take and lesson as the page plays it: WAV of one channel, any stretch of it at once.

The lesson's sound is put together by the same code that writes the finished one, so a cut sounds as it will; only the
source is coarser (the 16 kHz that the analysis listens to), which is there at once.
"""

from __future__ import annotations

import struct
from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from lessoncut.render.samples import RATE_HZ, Chunk
from lessoncut.render.sound import Source, lesson_sound, sample_of
from lessoncut.render.tone import tone_of
from lessoncut.review.desk import Seen
from lessoncut.take.samples import PER_MS, Samples
from lessoncut.take.samples import RATE_HZ as HEARD_HZ
from lessoncut.times import Span, merged

HEADER_BYTES = 44
_TIMES = RATE_HZ // HEARD_HZ
_PIECE_EDITS = 8
_PIECE_BYTES = 1 << 18


@dataclass(frozen=True)
class HeardTrack:
    """One file's part of the analysis's sound, drawn out to the lesson's rate."""

    samples: Samples

    @property
    def channels(self) -> int:
        return 1

    def __len__(self) -> int:
        return len(self.samples) * _TIMES

    def cut(self, start: int, end: int) -> Chunk:
        first, last = start // _TIMES, -(-end // _TIMES) + 1
        inside = self.samples[max(0, first) : max(0, last)].astype(np.float32) / np.float32(32_768)
        before = min(last - first, max(0, -first))
        known = np.pad(inside, (before, last - first - before - len(inside)))
        at = np.arange(start, end) / _TIMES - first
        return np.interp(at, np.arange(len(known)), known).astype(np.float32)[:, None]


@dataclass(frozen=True)
class TakeWav:
    """The take at 16 kHz."""

    samples: Samples
    rate_hz = HEARD_HZ

    @property
    def length(self) -> int:
        return len(self.samples)

    def pieces(self, start: int, end: int) -> Iterator[bytes]:
        """Samples ``[start, end)`` as little-endian 16 bits."""
        for at in range(start, end, _PIECE_BYTES):
            yield self.samples[at : min(end, at + _PIECE_BYTES)].astype("<i2").tobytes()


@dataclass(frozen=True)
class LessonWav:
    """The lesson at 48 kHz."""

    seen: Seen
    source: Source
    rate_hz = RATE_HZ

    @property
    def length(self) -> int:
        timeline = self.seen.sheet.timeline
        return sample_of(timeline.frames, timeline.rate)

    @cached_property
    def _starts(self) -> list[int]:
        timeline = self.seen.sheet.timeline
        return [sample_of(edit.lesson_in, timeline.rate) for edit in timeline.edits]

    def pieces(self, start: int, end: int) -> Iterator[bytes]:
        """Samples ``[start, end)``, a few edits at a time.

        Every piece is asked for with a neighbour on both sides, so that no join is without its crossfade.
        """
        edits = self.seen.sheet.timeline.edits
        first = max(0, bisect_right(self._starts, start) - 1)
        for at in range(first, len(edits), _PIECE_EDITS):
            begins = max(start, self._starts[at])
            ends = min(end, self._starts[at + _PIECE_EDITS] if at + _PIECE_EDITS < len(edits) else self.length)
            if begins >= end:
                return
            low = max(0, at - 1)
            some = replace(self.seen.sheet.timeline, edits=edits[low : at + _PIECE_EDITS + 1])
            sound = np.concatenate([np.zeros((0, 1), np.float32), *lesson_sound(some, self.source)])
            inside = sound[begins - self._starts[low] : ends - self._starts[low], 0]
            yield (np.clip(inside, -1, 1) * 32_767).astype("<i2").tobytes()


def source_of(seen: Seen, samples: Samples) -> Source:
    """The take as the lesson's sound is made from it."""
    found = seen.lesson.found
    spoken = [*(reading.span for reading in found.match.readings), *(aside.span for aside in found.match.asides)]
    noises = [*(sound.span for sound in seen.hearing.sounds), *seen.hearing.speech] if seen.hearing else []
    sounding = merged([*spoken, *noises])
    tracks, tones = [], []
    for span in found.take.spans:
        track = HeardTrack(samples[span.start_ms * PER_MS : span.end_ms * PER_MS])
        own = [item.clipped(span) for item in sounding if item.overlap_ms(span)]
        moved = [Span(item.start_ms - span.start_ms, item.end_ms - span.start_ms) for item in own]
        tracks.append(track)
        tones.append(tone_of(track, moved))
    return Source(tuple(tracks), tuple(tones))


def header(length: int, rate_hz: int) -> bytes:
    """The 44 bytes before ``length`` samples of one channel (RIFF/WAVE, PCM, 16 bits)."""
    size = length * 2
    form = struct.pack("<4sIHHIIHH", b"fmt ", 16, 1, 1, rate_hz, rate_hz * 2, 2, 16)
    return struct.pack("<4sI4s", b"RIFF", 36 + size, b"WAVE") + form + struct.pack("<4sI", b"data", size)


def wav_bytes(sound: TakeWav | LessonWav, start: int, end: int) -> Iterator[bytes]:
    """Bytes ``[start, end)`` of the whole WAV file."""
    if start < HEADER_BYTES:
        yield header(sound.length, sound.rate_hz)[start:end]
    first, last = max(0, start - HEADER_BYTES), end - HEADER_BYTES
    if last <= first:
        return
    drop, left = first % 2, last - first
    for piece in sound.pieces(first // 2, -(-last // 2)):
        part = piece[drop : drop + left]
        drop = 0
        left -= len(part)
        yield part
