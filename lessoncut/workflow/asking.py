"""How far the following of the script is: it asks about the sound in rounds, each far shorter than the one before."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

from lessoncut.hearing.records import Alignment, AlignmentRequest, Likelihoods, Wordings
from lessoncut.progress import Progress, part

Question = TypeVar("Question", AlignmentRequest, Wordings)
Answer = TypeVar("Answer", Alignment, Likelihoods)
Asked = Callable[[Sequence[Question]], tuple[Answer, ...]]
"""Answers questions in order."""
Answering = Callable[[Sequence[Question], Progress], tuple[Answer, ...]]
"""The same, and says how far it is."""

ROUND = 0.6
"""What the next round of questions is taken for of all that may still be asked; in takes of some minutes the first
round was half of it or more.
"""


class Rounds:
    """All the rounds of questions of one analysis, whoever answers them; ``progress`` is told after every answer."""

    def __init__(self, progress: Progress) -> None:
        self._progress = progress
        self._done = 0.0

    def of(self, answer: Answering[Question, Answer]) -> Asked[Question, Answer]:
        """``answer`` for the matching."""

        def asked(requests: Sequence[Question]) -> tuple[Answer, ...]:
            began, self._done = self._done, self._done + ROUND * (1 - self._done)
            return answer(requests, part(self._progress, began, self._done))

        return asked
