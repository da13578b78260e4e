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

MOST_MS = 30_000
"""Of longer sound nobody can tell: the recogniser hears no more at a time."""


class Weigher:
    """Weighs wordings on one take's sound, ``sound`` as ``take.decode`` wrote it; ``language`` is the take's.

    The recogniser is loaded with the first question. A question costs about 0.1 CPU seconds with the smallest one.
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
        answers = []
        for done, request in enumerate(requests, start=1):
            logs: tuple[float, ...] = ()
            if request.window.length_ms <= MOST_MS:
                logs = self._recogniser.likelihoods(Pack((request.window,)).sound(samples), request.texts)
            answers.append(Likelihoods(request, tuple(round(each, 2) for each in logs)))
            progress(done / len(requests))
        return tuple(answers)
