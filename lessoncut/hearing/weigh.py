"""Which of some wordings is said in a stretch of sound: the recogniser is asked about each, instead of for its own."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from lessoncut.hearing.packs import Pack
from lessoncut.hearing.records import Likelihoods, Wordings
from lessoncut.progress import Progress, no_progress
from lessoncut.take.decode import mapped

if TYPE_CHECKING:
    from lessoncut.hearing.hear import Settings
    from lessoncut.hearing.recognise import Recogniser

AT_ONCE = 4
"""Questions that the recogniser is asked at once: a quarter of the time less; with more of them it takes longer."""
MOST_MS = 30_000
"""Of longer sound nobody can tell: the recogniser hears no more at a time."""


class Weigher:
    """Weighs wordings on one take's sound, ``sound`` as ``take.decode`` wrote it; ``language`` is the take's.

    The recogniser is loaded with the first question. A question costs about 0.1 CPU seconds with the smallest one, and
    less beside others.
    """

    def __init__(self, sound: Path, settings: Settings, language: str) -> None:
        self._sound = sound
        self._settings = settings
        self._language = language

    @cached_property
    def _recogniser(self) -> Recogniser:
        from lessoncut.hearing.model import find_model, load  # noqa: PLC0415 - slow, and often nothing new is asked
        from lessoncut.hearing.recognise import Recogniser  # noqa: PLC0415

        files = find_model(self._settings.model, self._settings.language)
        return Recogniser(load(files, self._settings.device), self._language)

    def weigh(self, requests: Sequence[Wordings], progress: Progress = no_progress) -> tuple[Likelihoods, ...]:
        """An answer to each request, in order. Raises ChoiceError, ToolError, LessonFolderError."""
        samples = mapped(self._sound)
        too_long = (place for place, request in enumerate(requests) if request.window.length_ms > MOST_MS)
        answers = {place: Likelihoods(requests[place], ()) for place in too_long}
        for places in _together(requests):
            asked = [(Pack((requests[place].window,)).sound(samples), requests[place].texts) for place in places]
            logs = self._recogniser.likelihoods(asked)
            for place, row in zip(places, logs, strict=True):
                answers[place] = Likelihoods(requests[place], tuple(round(each, 2) for each in row))
            progress(len(answers) / len(requests))
        return tuple(answers[place] for place in range(len(requests)))


def _together(requests: Sequence[Wordings]) -> list[list[int]]:
    """The places of the requests that can be answered, in groups to be asked at once: those whose sounds are given the
    same length, so that no answer hangs on what else is asked."""
    from lessoncut.hearing.recognise import ALIKE_MS  # noqa: PLC0415 - as above

    lengths_ms = [request.window.length_ms for request in requests]
    short = [place for place, length_ms in enumerate(lengths_ms) if length_ms <= ALIKE_MS]
    long = [[place] for place, length_ms in enumerate(lengths_ms) if ALIKE_MS < length_ms <= MOST_MS]
    return [*(short[at : at + AT_ONCE] for at in range(0, len(short), AT_ONCE)), *long]
