"""What happened in the take, line by line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from lessoncut.times import Span

PassKind = Literal["model", "repeat"]
ReadingKind = Literal["full", "partial"]


@dataclass(frozen=True)
class ReadWord:
    """One script word as read. ``heard`` is what the recogniser spelt there, None where it spelt nothing."""

    text: str
    span: Span
    heard: str | None


@dataclass(frozen=True)
class Change:
    """Words ``[first, last]`` of the line were read as ``heard``.

    ``support`` is how much better the sound fits what was heard than the script, in log score a frame; ``confidence``
    how sure the change is by all that speaks for it, 0 to 1.
    """

    first: int
    last: int
    script: tuple[str, ...]
    heard: tuple[str, ...]
    support: float = 0.0
    confidence: float = 0.0

    @property
    def is_one_for_one(self) -> bool:
        """Whether it is one word in the place of one."""
        return len(self.script) == len(self.heard) == 1

    def in_line(self, words: Sequence[str]) -> tuple[str, ...]:
        """The line's words as they are when the change is true."""
        return (*words[: self.first], *self.heard, *words[self.last + 1 :])

    def as_script(self, spans: Sequence[Span]) -> tuple[Span, ...]:
        """Spans of the words ``in_line``, as spans of the script's: what was heard instead is shared out evenly."""
        upto = self.first + len(self.heard)
        instead = Span(spans[self.first].start_ms, spans[upto - 1].end_ms)
        return (*spans[: self.first], *instead.parts(len(self.script)), *spans[upto:])


@dataclass(frozen=True)
class Reading:
    """One spoken occurrence of one line.

    ``span`` is the true onset and offset of its speech. ``cut`` contains it: where the take may be cut around
    this reading without clipping it and without reaching a neighbour.
    """

    id: str
    line_id: str
    pass_id: str | None
    kind: ReadingKind
    kept: bool
    span: Span
    cut: Span
    words: tuple[ReadWord, ...]
    changes: tuple[Change, ...]
    confidence: float


@dataclass(frozen=True)
class Pass:
    """One reading through the passage, from its first reading's start to its last reading's end."""

    id: str
    kind: PassKind
    span: Span


@dataclass(frozen=True)
class Aside:
    """Speech outside the script. ``words`` are as heard; ``words`` is empty for speech nobody could read.

    ``held`` marks a sound held for demonstration ("vvvv"): it has no words, and is meant to be there.
    """

    span: Span
    words: tuple[str, ...]
    held: bool = False


@dataclass(frozen=True)
class Match:
    """Readings are in time order; so are passes and asides."""

    passes: tuple[Pass, ...]
    readings: tuple[Reading, ...]
    asides: tuple[Aside, ...]
    script_share: float
    """Share of the script's lines with at least one full reading, 0 to 1."""

    def kept(self, line_id: str, pass_id: str | None) -> Reading | None:
        """The reading of that line kept in that pass, if there is one."""
        for reading in self.readings:
            if reading.kept and reading.line_id == line_id and reading.pass_id == pass_id:
                return reading
        return None
