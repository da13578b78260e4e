"""A laid line as its edges are looked for: how it begins and ends, how loud it is, and what the room hides of it."""

from __future__ import annotations

from dataclasses import dataclass

from lessoncut.take.levels import HOP_MS, Decibels
from lessoncut.times import Span

DEPTH_DB = 40.0
"""A reading's speech reaches down to this far under its own peak (10 ms RMS)."""
DRY_MS_A_DB = 4.0
"""Sound that falls more slowly than this is the room's, not the voice's."""
VOICE_OVER_DB, HISS_OVER_DB = 4.0, 3.0
"""Over the quiet fifth of what lies around: from there on a smoothed level is more than the room's noise."""
CLOSURE_MS = 140
"""A last stop's closure is shorter, and the release after it belongs to the line."""


@dataclass(frozen=True)
class Outline:
    """``faint``: the line begins with a sound much weaker than a vowel (h, f, th, k); ``hiss_first``: with an s, sh, f
    or th; ``hissing``: it ends in an obstruent (s, f, t), which has most of its sound in the hiss band; ``stopping``:
    in a p, t or k, which is silent before its release; ``single``: it is one word."""

    faint: bool = True
    hissing: bool = False
    stopping: bool = False
    hiss_first: bool = False
    single: bool = False


PLAIN = Outline()


@dataclass(frozen=True)
class LaidLine:
    """A laid line, how loud it is, and from what level on something in each band is more than the room."""

    laid: Span
    limits: Span
    outline: Outline
    peak_db: float
    voice_db: float
    hiss_db: float
    room_voice_db: float
    room_hiss_db: float

    @property
    def hidden_db(self) -> float:
        """How much of the line's depth lies under the room's noise."""
        return self.voice_db - (self.peak_db - DEPTH_DB)


def later(found: Span, line: LaidLine, by_ms: int) -> Span:
    """The line ending so much later, as far as its limits let it."""
    return Span(found.start_ms, max(found.end_ms, min(found.end_ms + by_ms, line.limits.end_ms)))


def frames(band: Decibels, span: Span) -> Decibels:
    """The band's frames of ``HOP_MS`` in the span."""
    return band[max(0, span.start_ms) // HOP_MS : max(0, span.end_ms) // HOP_MS]
