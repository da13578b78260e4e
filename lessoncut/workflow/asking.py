"""How far the following of the script is: it asks the aligner in rounds, each far shorter than the one before."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Protocol

from lessoncut.hearing.records import Alignment, AlignmentRequest
from lessoncut.progress import Progress, part

if TYPE_CHECKING:
    from lessoncut.matching.lay import Ask

ROUND = 0.6
"""What the next round of questions is taken for of all that may still be asked; in takes of some minutes the first
round was half of it or more.
"""


class Align(Protocol):
    """Answers requests in order, and says how far it is."""

    def __call__(self, requests: Sequence[AlignmentRequest], progress: Progress) -> tuple[Alignment, ...]: ...


def in_rounds(align: Align, progress: Progress) -> Ask:
    """``align`` for the matching; ``progress`` is told after every answer."""
    done = 0.0

    def asked(requests: Sequence[AlignmentRequest]) -> tuple[Alignment, ...]:
        nonlocal done
        began, done = done, done + ROUND * (1 - done)
        return align(requests, part(progress, began, done))

    return asked
