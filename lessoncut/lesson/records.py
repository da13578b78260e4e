"""The finished programme, in order. All spans are take time."""

from __future__ import annotations

from dataclasses import dataclass

from lessoncut.decisions.records import SlotSource
from lessoncut.matching.records import PassKind
from lessoncut.times import Span


@dataclass(frozen=True)
class LessonPass:
    """One reading through the passage as the lesson has it; ``nth`` counts from 1 among its kind.

    ``id`` is the match's, or ``built`` for a repeat pass made from the model reading.
    """

    id: str
    kind: PassKind
    nth: int
    built: bool = False


@dataclass(frozen=True)
class LessonWord:
    """A word as it is shown, with its punctuation. Its span is from the sound, or shared out where none is known."""

    text: str
    span: Span


@dataclass(frozen=True)
class LineItem:
    """A line, or a part of one, as it plays.

    ``span`` is the true onset and offset of its speech; ``cut`` contains it and is where the take may be cut.
    """

    line_id: str
    pass_id: str | None
    """Id of a LessonPass; None outside the passage."""
    reading_id: str
    source: SlotSource
    span: Span
    cut: Span
    words: tuple[LessonWord, ...]
    """As captioned; not always what the script says."""
    syllables: int
    """Of the words that are said."""
    part: int = 1
    """From 1. 0 is the whole line said again after its parts."""
    parts: int = 1
    partial: bool = False
    """A broken-off start that was left in: nobody repeats it."""
    cut_outs: tuple[Span, ...] = ()
    """Inside ``cut``, in order; no word lies in them."""
    gap_ms: int | None = None
    """The teacher's own gap for this line, instead of the model's."""

    @property
    def text(self) -> str:
        return " ".join(word.text for word in self.words)

    @property
    def spoken_ms(self) -> int:
        """How long the speech lasts, without what is cut out of it."""
        return self.span.length_ms - sum(hole.overlap_ms(self.span) for hole in self.cut_outs)


@dataclass(frozen=True)
class AsideItem:
    """Speech outside the script that was kept."""

    pass_id: str | None
    span: Span
    cut: Span
    words: tuple[LessonWord, ...]

    @property
    def text(self) -> str:
        return " ".join(word.text for word in self.words)


Item = LineItem | AsideItem


@dataclass(frozen=True)
class Chapter:
    """``section`` is an index into the script's sections; None where nothing but talk plays."""

    title: str
    section: int | None
    pass_id: str | None
    items: tuple[Item, ...]


@dataclass(frozen=True)
class Lesson:
    """Chapters are never empty; ``left_out`` are the lines that no item plays, as (line id, pass id)."""

    title: str
    passes: tuple[LessonPass, ...]
    chapters: tuple[Chapter, ...]
    covers: tuple[Span, ...] = ()
    """Stretches whose sound is covered with room tone."""
    left_out: tuple[tuple[str, str | None], ...] = ()

    @property
    def items(self) -> tuple[Item, ...]:
        return tuple(item for chapter in self.chapters for item in chapter.items)

    def kind_of(self, item: Item) -> PassKind | None:
        """Whether the item plays in a model reading or in a repeat pass; None outside the passage."""
        return next((p.kind for p in self.passes if p.id == item.pass_id), None)
