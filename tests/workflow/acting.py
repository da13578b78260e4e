"""A take that sounds where a hearing written by hand says so, and ears that hear just that."""

from __future__ import annotations

import sys
import wave
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from lessoncut.hearing.records import AlignedPhone, Alignment, AlignmentRequest, Hearing
from lessoncut.hearing.told import told
from lessoncut.matching.lay import nobody_weighs
from lessoncut.progress import Progress, no_progress
from tests.matching.sounding import sounding

RATE_HZ = 16_000

SCRIPT = """\
# The lighthouse

## Welcome
Hello, and welcome to the lighthouse.

## The lamp room {.passage}
The lamp turns every seven seconds.
Wind and waves never stop.
Vera climbs the winding stairs.

## Goodbye
See you all next week.
"""

SAID = """
  1.0  hello and welcome to the lighthouse           3.0
  4.0  the lamp turns every seven seconds            6.0
  6.6  wind and waves never stop                     8.2
  8.8  vera climbs the winding stairs               10.8
 13.0  the lamp turns every seven seconds           15.0
 19.0  wind and waves never stop                    20.6
 24.0  vera climbs the winding stairs               26.0
 30.0  see you all next week                        31.5
"""


def perform(said: str, path: Path) -> Path:
    """A WAV file with noise wherever somebody speaks, over a quiet room."""
    hearing = told(said)
    noise = np.random.default_rng(7).standard_normal(hearing.duration_ms * RATE_HZ // 1000)
    loud = np.zeros(len(noise))
    for span in hearing.speech:
        loud[span.start_ms * RATE_HZ // 1000 : span.end_ms * RATE_HZ // 1000] = 1
    sound = noise * (0.0005 + 0.1 * loud)
    with wave.open(str(path), "wb") as file:
        file.setparams((1, 2, RATE_HZ, 0, "NONE", ""))
        file.writeframes((np.clip(sound, -1, 1) * 32767).astype("<i2").tobytes())
    return path


class Ears:
    """Stands in for recogniser and aligner. ``heard`` counts hearings, ``asked`` questions to the aligner, ``laid``
    those for single sounds.

    ``stop_after`` packs, the user presses Ctrl-C.
    """

    def __init__(self, said: str, monkeypatch: pytest.MonkeyPatch, language: str = "en") -> None:
        self.said = said
        self.language = language
        self.heard = 0
        self.asked = 0
        self.laid = 0
        self.known_packs: list[str] = []
        self.stop_after: int | None = None
        listening = SimpleNamespace(hear=self.hear)
        aligning = SimpleNamespace(LANGUAGE="en", Aligner=self._aligner, no_aligner=_no_aligner)
        monkeypatch.setitem(sys.modules, "lessoncut.hearing.hear", listening)
        monkeypatch.setitem(sys.modules, "lessoncut.hearing.align", aligning)
        monkeypatch.setitem(sys.modules, "lessoncut.hearing.aligners", SimpleNamespace(Aligners=self._aligners))
        monkeypatch.setitem(sys.modules, "lessoncut.hearing.weigh", SimpleNamespace(Weigher=_no_weigher))

    def hear(
        self,
        samples: Sequence[int],  # noqa: ARG002 - the shape of the real one
        levels: object,  # noqa: ARG002
        settings: object,  # noqa: ARG002
        progress: Callable[[float], None],
        known: dict[str, Any],
        keep: Callable[[str, Any, int], None],
    ) -> Hearing:
        self.heard += 1
        self.known_packs = sorted(known)
        for number in range(4):
            if number == self.stop_after:
                raise KeyboardInterrupt
            keep(f"{number}-{number + 1}", [number], number + 1)
            progress((number + 1) / 4)
        return told(self.said, language=self.language)

    @contextmanager
    def _aligners(self, sound: Path, cores: int, *, at_once: bool) -> Iterator[SimpleNamespace]:  # noqa: ARG002
        yield self._aligner(sound)

    def _aligner(self, samples: object) -> SimpleNamespace:  # noqa: ARG002
        answer = sounding(self.said)

        def align(requests: Sequence[AlignmentRequest], progress: Progress = no_progress) -> tuple[Alignment, ...]:
            progress(1.0)
            self.asked += len(requests)
            return answer(requests)

        def phones(request: AlignmentRequest) -> tuple[AlignedPhone, ...]:
            self.laid += 1
            (alignment,) = answer([request])
            return tuple(AlignedPhone("AH", word.span, at) for at, word in enumerate(alignment.words))

        return SimpleNamespace(align=align, phones=phones)


def _no_aligner(requests: Sequence[AlignmentRequest]) -> tuple[Alignment, ...]:
    return tuple(Alignment(request, ()) for request in requests)


def _no_weigher(*_: object) -> SimpleNamespace:
    return SimpleNamespace(weigh=lambda requests, _: nobody_weighs(requests))
