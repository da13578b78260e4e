"""How like the beginning of its line a stretch of sound is, beside those of all other lines."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lessoncut.matching.attempts import Attempt
from lessoncut.matching.ground import Ground
from lessoncut.matching.lay import Beginning
from lessoncut.times import Span


@dataclass(frozen=True)
class Beginnings:
    """The ``nearest`` of one line's beginnings, and the ``reading`` that it is of; and how far those of the lines are
    that begin in another word."""

    nearest: Beginning
    reading: Attempt
    others: tuple[float, ...]


def as_lines_begin(ground: Ground, attempts: Sequence[Attempt], span: Span, line: int) -> Beginnings | None:
    """Those that the span is compared with; None where the line has no reading, or nobody can tell."""
    first = ground.spoken_words[line][0]
    full = [each for each in attempts if each.full]
    own = [each for each in full if each.line == line]
    others = [each for each in full if each.texts[0] != first]
    begun = ground.begins(span, [each.span for each in (*own, *others)]) if own else ()
    if not begun:
        return None
    nearest, reading = min(zip(begun, own, strict=False), key=lambda pair: pair[0].distance)
    return Beginnings(nearest, reading, tuple(each.distance for each in begun[len(own) :]))
