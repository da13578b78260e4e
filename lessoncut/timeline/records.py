"""The exact edit list, and the marks that every output uses.

Everything lies on one grid of frames, ``Timeline.rate``. Lesson frames count from the lesson's first. Source frames
count from the start of their file: frame ``n`` of file ``f`` stands at take time
``take.spans[f].start_ms + 1000 * n / rate``. A file with another frame rate is first brought to the grid.
Frame pairs are half-open, like spans.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from lessoncut.lesson.records import LessonWord
from lessoncut.matching.records import PassKind
from lessoncut.times import FrameRate, Span

EditRole = Literal["line", "aside", "pause"]
GapKind = Literal["repeat", "pause"]


@dataclass(frozen=True)
class TakeEdit:
    """A stretch of the take, played as it is.

    ``item`` is the index into ``Lesson.items`` of what is heard; for role ``pause``, of what the pause follows
    (-1 before the first item).
    """

    file: int
    source_in: int
    source_out: int
    lesson_in: int
    lesson_out: int
    role: EditRole
    item: int


@dataclass(frozen=True)
class Gap:
    """A stretch that the take does not have: a held picture over room tone.

    ``hold_file`` and ``hold_frame`` are the picture to hold: the last frame before the next item, or that item's
    first where a cut lies before it. ``item`` is the index into ``Lesson.items`` of what the gap follows.
    """

    lesson_in: int
    lesson_out: int
    kind: GapKind
    item: int
    hold_file: int
    hold_frame: int


Edit = TakeEdit | Gap


@dataclass(frozen=True)
class Cover:
    """Lesson time whose sound is covered with room tone while the picture plays on."""

    lesson_span: Span


@dataclass(frozen=True)
class Timeline:
    """``edits`` leave no hole: each begins at the lesson frame where the one before it ends."""

    rate: FrameRate
    file_starts_ms: tuple[int, ...]
    """Where each file of the take starts in take time."""
    edits: tuple[Edit, ...]
    covers: tuple[Cover, ...] = ()

    @property
    def frames(self) -> int:
        return self.edits[-1].lesson_out if self.edits else 0

    @property
    def duration_ms(self) -> int:
        return self.rate.start_ms(self.frames)


@dataclass(frozen=True)
class GapMark:
    """The pause after an item, from its last word to the next word, in lesson time.

    ``wanted_ms`` is what was asked for: a learner's gap where ``kind`` is ``repeat``, else the pause to keep.
    ``span`` is what the frames give; never shorter than wanted where the kind is ``repeat``. ``recorded_ms`` is the
    pause the take has there, None where a cut lies between. ``clamped``: the model asked for more than the most.
    """

    kind: GapKind
    wanted_ms: int
    recorded_ms: int | None
    lesson_span: Span
    lesson_in: int
    """First frame that starts at or after the last word's end."""
    lesson_out: int
    """The frame in which the next word begins."""
    clamped: bool = False


@dataclass(frozen=True)
class ItemMark:
    """Where one item of the lesson stands. ``line_id`` is None for talk outside the script.

    ``lesson_span`` is its speech, onset to offset; ``lesson_in`` and ``lesson_out`` are the frames of its edits,
    handles included. ``words`` carry lesson time.
    """

    item: int
    line_id: str | None
    pass_id: str | None
    pass_kind: PassKind | None
    reading_id: str | None
    part: int
    parts: int
    partial: bool
    lesson_span: Span
    lesson_in: int
    lesson_out: int
    words: tuple[LessonWord, ...]
    gap: GapMark
    syllables: int = 0
    """Of the words that are said, which need not be those captioned; 0 for talk."""

    @property
    def text(self) -> str:
        return " ".join(word.text for word in self.words)


@dataclass(frozen=True)
class ChapterMark:
    """Chapters are contiguous: the first starts at frame 0, the last ends with the lesson."""

    title: str
    pass_kind: PassKind | None
    lesson_in: int
    lesson_out: int
    lesson_span: Span


@dataclass(frozen=True)
class Marks:
    """Lesson times for all outputs, derived once."""

    chapters: tuple[ChapterMark, ...]
    items: tuple[ItemMark, ...]
