"""How much time a learner gets, and how long pauses may last.

The model for a line of spoken length D and N syllables:

    gap = reaction + max(factor * D, N / rate), at least ``least``, at most ``most``, up to the next tenth of a second

The levels' numbers are our own design values. Only their direction has sources: learners' speed grows from A2 to B2
(Tavakoli, Nakatsuhara and Hunter 2020), syllables predict best how hard a line is to repeat (Graham et al. 2008), and
waiting before repeating helps nobody (Norris, Sasayama and Kim 2023), so that reaction time is short.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from lessoncut.errors import ChoiceError


@dataclass(frozen=True)
class Level:
    """What the model takes for one level of the CEFR.

    A line with more syllables than ``soft_syllables`` is split where its reading or its punctuation offers a place;
    beyond ``hard_syllables`` or ``hard_ms`` a conjunction or a preposition will do as well.
    """

    name: str
    reaction_ms: int
    factor: Fraction
    """How many times the line's spoken length."""
    rate: Fraction
    """Syllables a second."""
    most_ms: int
    soft_syllables: int
    hard_syllables: int
    hard_ms: int


def _level(
    name: str, reaction_ms: int, factor: str, rate: str, most_ms: int, soft: int, hard: int, hard_ms: int
) -> Level:
    return Level(name, reaction_ms, Fraction(factor), Fraction(rate), most_ms, soft, hard, hard_ms)


LEVELS: dict[str, Level] = {
    level.name: level
    for level in (
        _level("A1", 1000, "1.60", "2.2", 8000, 8, 11, 3000),
        _level("A2", 900, "1.45", "2.6", 8000, 10, 13, 3500),
        _level("B1", 800, "1.30", "3.0", 9000, 13, 16, 4500),
        _level("B2", 700, "1.20", "3.5", 10000, 16, 20, 5500),
        _level("C1", 600, "1.10", "4.0", 11000, 19, 24, 6500),
        _level("C2", 500, "1.00", "4.5", 12000, 22, 28, 7500),
    )
}
LEAST_MS = 1500
"""A shorter gap cannot be told from a pause of reading, which lasts up to about 1.4 s (Campione and Veronis 2002)."""
_STEP_MS = 100

Fill = Literal["recorded", "hold"]
"""What fills a learner's gap: the pause that was recorded, lengthened or trimmed, or a held picture throughout."""


@dataclass(frozen=True)
class Pacing:
    """The teacher's options; None takes the level's value. Raises ChoiceError for what cannot be.

    Pauses that are not for the learner are kept as recorded, up to ``pause_most_ms``; where a cut lies between, the
    pause is ``pause_joined_ms``. Between chapters the same with their own values. (0.6 s are felt as the most natural
    pause, Liu et al. 2022; between paragraphs readers leave 0.4 to 1.8 s.)
    """

    level: str = "B1"
    factor: Fraction | None = None
    reaction_ms: int | None = None
    least_ms: int = LEAST_MS
    most_ms: int | None = None
    split: bool = True
    """Split long lines at thought groups."""
    build_up: bool = False
    """Say a split line again as a whole after its parts."""
    build_repeat: bool = True
    """Make a repeat pass from the model reading where the take has none."""
    fill: Fill = "recorded"
    pause_most_ms: int = 1000
    pause_joined_ms: int = 600
    chapter_pause_most_ms: int = 1500
    chapter_pause_joined_ms: int = 1000
    opening_ms: int = 500
    """At most this much is kept before the first word, and ``closing_ms`` after the last."""
    closing_ms: int = 1000

    def __post_init__(self) -> None:
        if self.level not in LEVELS:
            raise ChoiceError(f"there is no level '{self.level}'", hint=f"one of {', '.join(LEVELS)}")
        for name in ("factor", "reaction_ms", "least_ms", "most_ms", "pause_most_ms", "pause_joined_ms"):
            value = getattr(self, name)
            if value is not None and value < 0:
                raise ChoiceError(f"{name.removesuffix('_ms').replace('_', ' ')} cannot be negative")
        if self.longest_ms < self.least_ms:
            raise ChoiceError(
                f"the least gap ({self.least_ms / 1000:g} s) is longer than the most ({self.longest_ms / 1000:g} s)"
            )

    @property
    def longest_ms(self) -> int:
        return LEVELS[self.level].most_ms if self.most_ms is None else self.most_ms


@dataclass(frozen=True)
class GapSize:
    """``clamped``: the model asked for more than the most, so the line ought to be split."""

    gap_ms: int
    clamped: bool


def gap_size(spoken_ms: int, syllables: int, pacing: Pacing) -> GapSize:
    """The learner's gap for a line of that spoken length."""
    level = LEVELS[pacing.level]
    factor = level.factor if pacing.factor is None else pacing.factor
    reaction_ms = level.reaction_ms if pacing.reaction_ms is None else pacing.reaction_ms
    asked_ms = reaction_ms + max(factor * spoken_ms, syllables * 1000 / level.rate)
    stepped_ms = math.ceil(asked_ms / _STEP_MS) * _STEP_MS
    return GapSize(
        min(max(stepped_ms, pacing.least_ms), pacing.longest_ms),
        clamped=asked_ms > pacing.longest_ms,
    )
