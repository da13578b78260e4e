"""What sound and picture are made from, and how the teacher wants them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from lessoncut.take.records import Take
from lessoncut.timeline.records import TakeEdit, Timeline
from lessoncut.times import Span

Loudness = Literal["standard", "off"] | float
"""``standard`` is what is common for the programme's channels; a number is LUFS."""


@dataclass(frozen=True)
class Wishes:
    """The teacher's options for sound and picture."""

    loudness: Loudness = "standard"
    high_pass: bool = False
    """Take rumble away: a gentle high-pass at 80 Hz."""
    prompt: bool = False
    """Draw the line and the time left into the picture of every learner's gap."""
    with_model: bool = False
    """Begin the practice track with the model reading."""
    cover: str | None = None
    """A JPEG or PNG picture for the practice track."""


AS_USUAL = Wishes()


@dataclass(frozen=True)
class Footage:
    """The take and what the lesson plays of it. ``sounding``: all speech and other sounds, in take time and order."""

    take: Take
    timeline: Timeline
    sounding: tuple[Span, ...]
    wishes: Wishes = AS_USUAL

    @property
    def files_used(self) -> frozenset[int]:
        """The numbers of the files that are seen or heard."""
        edits = self.timeline.edits
        return frozenset(edit.file if isinstance(edit, TakeEdit) else edit.hold_file for edit in edits)

    def sounding_in(self, file: int) -> tuple[Span, ...]:
        """What sounds in one file, in the file's own time."""
        own = self.take.spans[file]
        inside = (span.clipped(own) for span in self.sounding if span.overlap_ms(own))
        return tuple(Span(span.start_ms - own.start_ms, span.end_ms - own.start_ms) for span in inside)


@dataclass(frozen=True)
class Papers:
    """What goes into a video beside sound and picture.

    ``metadata`` is in ffmpeg's form, with chapters; ``captions`` in SRT, empty for none; ``prompt`` in ASS, to be
    drawn into the picture, None for none; ``language`` is ISO 639-2.
    """

    metadata: str
    captions: str
    language: str
    prompt: str | None = None


@dataclass(frozen=True)
class Tape:
    """What goes onto a sound file: stretches of lesson frames (half-open), how fast, and what stands beside them.

    ``metadata`` is in ffmpeg's form, with chapters on the file's own clock; ``language`` is ISO 639-2.
    """

    frames: tuple[tuple[int, int], ...]
    metadata: str
    language: str
    tempo: float = 1.0
