"""Lay the lesson out on the grid of frames: kept speech, the pauses between, the learner's gaps."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from lessoncut.lesson.pacing import Pacing
from lessoncut.lesson.records import Item, Lesson, LineItem
from lessoncut.matching.records import Match
from lessoncut.take.levels import HOP_MS, Decibels, Levels
from lessoncut.take.records import Take
from lessoncut.timeline.gaps import Pause, pauses
from lessoncut.timeline.grid import Ground, ground_of
from lessoncut.timeline.marks import covers_of, marks_of
from lessoncut.timeline.quiet import Quiet
from lessoncut.timeline.records import Edit, EditRole, Gap, GapKind, Marks, TakeEdit, Timeline
from lessoncut.times import Span, without


def lay_out(
    lesson: Lesson, take: Take, match: Match, pacing: Pacing, levels: Levels | None = None
) -> tuple[Timeline, Marks]:
    """The exact edit list, and where everything stands in it. With ``levels`` a pause is trimmed where it is quiet."""
    ground = ground_of(take)
    if not lesson.items:
        return Timeline(ground.rate, ground.starts_ms, ()), Marks((), ())
    quiet = Quiet(take, match)
    between = pauses(lesson, quiet, pacing)
    layer = _Layer(ground, pacing, levels)
    layer.lay(lesson.items, between, quiet.before(lesson.items[0]))
    bare = Timeline(ground.rate, ground.starts_ms, tuple(layer.edits))
    timeline = Timeline(ground.rate, ground.starts_ms, bare.edits, covers_of(lesson.covers, bare))
    return timeline, marks_of(lesson, timeline, between)


@dataclass(frozen=True)
class Piece:
    """Frames ``[source_in, source_out)`` of one file."""

    file: int
    source_in: int
    source_out: int


def pieces_of(item: Item, ground: Ground) -> list[Piece]:
    """The frames of an item: inside its cut where they can be, but never without a part of its speech.

    More than one where something is cut out of it, or where it runs across two files: there the border is the
    nearest frame, since files seldom last a whole number of frames.
    """
    holes = item.cut_outs if isinstance(item, LineItem) else ()
    # Handles do not reach into a file in which the item has no speech.
    begins, ends = ground.file_at(item.span.start_ms), ground.file_at(max(item.span.start_ms, item.span.end_ms - 1))
    cut = item.cut.clipped(Span(ground.starts_ms[begins], ground.ends_ms[ends]))
    out: list[Piece] = []
    for span in without(cut, holes):
        for file in range(ground.file_at(span.start_ms), ground.file_at(span.end_ms - 1) + 1):
            inside = span.clipped(Span(ground.starts_ms[file], ground.ends_ms[file]))
            speech = _speech_in(item, inside)
            first = min(ground.ceil(file, inside.start_ms), ground.floor(file, speech.start_ms))
            last = max(ground.floor(file, inside.end_ms), ground.ceil(file, speech.end_ms), first + 1)
            if span.end_ms > inside.end_ms:
                last = max(ground.nearest(file, inside.end_ms), first + 1)
            if out and out[-1].file == file and first <= out[-1].source_out:
                out[-1] = Piece(file, out[-1].source_in, max(last, out[-1].source_out))
            else:
                out.append(Piece(file, first, last))
    return out


def _speech_in(item: Item, inside: Span) -> Span:
    """From the first word to the last inside a piece of the item; the outermost are the item's own edges."""
    words = [word.span.clipped(inside) for word in item.words if word.span.overlap_ms(inside)]
    start_ms = item.span.start_ms if inside.start_ms <= item.span.start_ms else None
    end_ms = item.span.end_ms if inside.end_ms >= item.span.end_ms else None
    if start_ms is None:
        start_ms = min((word.start_ms for word in words), default=inside.start_ms)
    if end_ms is None:
        end_ms = max((word.end_ms for word in words), default=inside.end_ms)
    clipped = Span(start_ms, max(start_ms, end_ms))
    return clipped.clipped(inside)


@dataclass
class _Layer:
    """Edits in the making, from the lesson's first frame on."""

    ground: Ground
    pacing: Pacing
    levels: Levels | None
    edits: list[Edit] = field(default_factory=list)
    frame: int = 0

    def lay(self, items: tuple[Item, ...], between: tuple[Pause, ...], before_all: Span) -> None:
        laid = [pieces_of(item, self.ground) for item in items]
        first = laid[0][0]
        self._play(self._opening(items[0], first, before_all), "pause", -1)
        for at, item in enumerate(items):
            role: EditRole = "line" if isinstance(item, LineItem) else "aside"
            for piece in laid[at]:
                self._play(piece, role, at)
            last = laid[at][-1]
            if at + 1 < len(items):
                self._pause(at, between[at], item, last, items[at + 1], laid[at + 1])
            else:
                self._ending(at, between[at], item, last)

    def _play(self, piece: Piece, role: EditRole, item: int) -> None:
        length = piece.source_out - piece.source_in
        if length > 0:
            end = self.frame + length
            self.edits.append(TakeEdit(piece.file, piece.source_in, piece.source_out, self.frame, end, role, item))
            self.frame = end

    def _hold(self, frames: int, kind: GapKind, item: int, file: int, picture: int) -> None:
        if frames > 0:
            self.edits.append(Gap(self.frame, self.frame + frames, kind, item, file, max(0, picture)))
            self.frame += frames

    # -- before, between and after the items ---------------------------------------------------------

    def _opening(self, item: Item, first: Piece, quiet: Span) -> Piece:
        lead_ms = item.span.start_ms - self.ground.take_ms(first.file, first.source_in)
        wanted = math.floor(self.ground.frames_of(self.pacing.opening_ms - lead_ms))
        there = first.source_in - self.ground.ceil(first.file, quiet.start_ms)
        frames = max(0, min(wanted, there))
        return Piece(first.file, first.source_in - frames, first.source_in)

    def _pause(self, at: int, pause: Pause, item: Item, last: Piece, following: Item, coming: list[Piece]) -> None:
        """``coming`` are the next item's pieces; the first is shortened where both play the same frame."""
        first = coming[0]
        assert pause.wanted_ms is not None
        handles_ms = self._tail_ms(item, last) + (
            following.span.start_ms - self.ground.take_ms(first.file, first.source_in)
        )
        frames = max(0, math.ceil(self.ground.frames_of(pause.wanted_ms - handles_ms)))
        if pause.kind == "repeat" and self.pacing.fill == "hold":
            seen_before = pause.recorded_ms is not None or self._there_before(first, pause) > 0
            self._hold(frames, "repeat", at, first.file, first.source_in - seen_before)
        elif pause.recorded_ms is not None and pause.recorded_ms >= pause.wanted_ms and frames == 0:
            self._play_on(last, coming)
        elif pause.recorded_ms is not None:
            self._recorded(at, pause.kind, frames, last, first)
        else:
            self._joined(at, pause, frames, last, first)

    def _tail_ms(self, item: Item, last: Piece) -> Fraction:
        """What the item's last frames hold after its last word."""
        return self.ground.take_ms(last.file, last.source_out) - item.span.end_ms

    @staticmethod
    def _play_on(last: Piece, coming: list[Piece]) -> None:
        """No pause is wanted: a frame in which one item ends and the next begins plays once."""
        first = coming[0]
        if first.file != last.file or first.source_in >= last.source_out:
            return
        if first.source_out <= last.source_out and len(coming) > 1:
            del coming[0]
        else:
            coming[0] = Piece(first.file, min(last.source_out, first.source_out - 1), first.source_out)

    def _recorded(self, at: int, kind: GapKind, frames: int, last: Piece, first: Piece) -> None:
        """The take goes on from one item to the next: its pause is kept, lengthened, or trimmed where it is quiet."""
        there = max(0, first.source_in - last.source_out)
        if frames >= there:
            self._play(Piece(last.file, last.source_out, first.source_in), "pause", at)
            self._hold(frames - there, kind, at, first.file, first.source_in - 1)
        else:
            head = self._quiet_cut(last, frames, there)
            self._play(Piece(last.file, last.source_out, last.source_out + head), "pause", at)
            self._play(Piece(first.file, first.source_in - (frames - head), first.source_in), "pause", at)

    def _quiet_cut(self, last: Piece, frames: int, there: int) -> int:
        """How many of the ``frames`` come before the trim, so that both sides of it are quiet; else half."""
        if self.levels is None or not len(self.levels.voice_db):
            return frames // 2

        heads = np.arange(frames + 1)
        cuts = last.source_out + heads
        louder = np.maximum(self._levels_db(last.file, cuts), self._levels_db(last.file, cuts + there - frames))
        off_middle = np.abs(heads - frames / 2)
        return int(np.lexsort((off_middle, louder))[0])

    def _levels_db(self, file: int, frames: NDArray[np.int64]) -> Decibels:
        """How loud the take is where these frames of the file begin."""
        assert self.levels is not None
        rate = self.ground.rate.per_second
        ms_times_rate = self.ground.starts_ms[file] * rate.numerator + frames * (1000 * rate.denominator)
        hops = ms_times_rate // (rate.numerator * HOP_MS)
        return self.levels.voice_db[np.clip(hops, 0, len(self.levels.voice_db) - 1)]

    def _there_before(self, first: Piece, pause: Pause) -> int:
        """Frames of quiet that the take has right before the next item."""
        return max(0, first.source_in - self.ground.ceil(first.file, pause.before.start_ms))

    def _there_after(self, last: Piece, pause: Pause) -> int:
        return max(0, self.ground.floor(last.file, pause.after.end_ms) - last.source_out)

    def _joined(self, at: int, pause: Pause, frames: int, last: Piece, first: Piece) -> None:
        """A cut lies between: quiet from both sides, and a held picture for what they lack."""
        before, after = self._there_before(first, pause), self._there_after(last, pause)
        tail = min(before, (frames + 1) // 2)
        head = min(after, frames - tail)
        tail = min(before, frames - head)
        self._play(Piece(last.file, last.source_out, last.source_out + head), "pause", at)
        self._play(Piece(first.file, first.source_in - tail, first.source_in), "pause", at)
        self._hold(frames - head - tail, pause.kind, at, first.file, first.source_in - (tail > 0))

    def _ending(self, at: int, pause: Pause, item: Item, last: Piece) -> None:
        tail_ms = self._tail_ms(item, last)
        there = self._there_after(last, pause)
        if pause.wanted_ms is None:
            wanted = math.floor(self.ground.frames_of(self.pacing.closing_ms - tail_ms))
            frames = head = max(0, min(wanted, there))
        else:
            frames = max(0, math.ceil(self.ground.frames_of(pause.wanted_ms - tail_ms)))
            head = 0 if self.pacing.fill == "hold" else min(there, frames)
        self._play(Piece(last.file, last.source_out, last.source_out + head), "pause", at)
        self._hold(frames - head, pause.kind, at, last.file, last.source_out + head - 1)
