"""How the sample lessons are performed: the script's own lines, said and stumbled over, become a plan of the take."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np

from lessoncut.script.read import read_script
from tests.evaluation.assemble import Event
from tests.evaluation.plan import Item, Noise, PassKind, Plan, Rest, Room, Said, ScriptLine
from tests.evaluation.signals import RATE, Samples
from tests.evaluation.texts import Line
from tests.evaluation.truth import truth
from tests.evaluation.voices import Voice


class Performance:
    """Collects what happens, in order. Rests vary by up to a tenth, as nobody counts them; ``seed`` says how.

    ``known`` are lines that are not said as they are written; ``sounds`` are words that the voice has to be told the
    sounds of, in the letters that it knows.
    """

    def __init__(
        self,
        script: Path,
        voice: Voice,
        passes: tuple[PassKind, ...],
        seed: int,
        known: tuple[Line, ...] = (),
        sounds: Mapping[str, str] | None = None,
    ) -> None:
        read = read_script(script)
        self._title = read.title
        self._script = script
        self._seed = seed
        self._rng = np.random.default_rng(seed)
        said = {line.written: line for line in known}
        self._sounds = sounds or {}
        self.voice = voice
        self.passes = passes
        self.lines = tuple(
            ScriptLine(
                line.id,
                read.sections[line.section].title,
                line.in_passage,
                said.get(line.text) or Line(line.text, line.text.replace('"', "")),
            )
            for line in read.lines
        )
        self.items: list[Item] = []

    def of(self, section: str) -> list[int]:
        """Indexes of the section's lines."""
        return [at for at, line in enumerate(self.lines) if line.section == section]

    def rest(self, seconds: float) -> None:
        self.items.append(Rest(seconds * float(self._rng.uniform(0.9, 1.1))))

    def read(
        self,
        line: int,
        rate: float = 1.0,
        *,
        at_pass: int | None = None,
        only_words: int | None = None,
        instead: str | None = None,
    ) -> None:
        """One reading; ``instead`` is what is said where that is not the line."""
        meant = self.lines[line].line
        self.items.append(
            Said(
                "reading",
                re.sub(r"\w+", lambda word: self._sounds.get(word[0], word[0]), instead or meant.spoken),
                self.voice,
                rate,
                len(self.items),
                0.0,
                line=line,
                passage_pass=at_pass,
                only_words=only_words,
                misread=instead is not None or meant.altered,
            )
        )

    def talk(self, text: str, rate: float = 1.05, gain_db: float = -2.0) -> None:
        self.items.append(Said("talk", text, self.voice, rate, len(self.items), gain_db))

    def noise(self, kind: str, *, seed: int, held: bool = False) -> None:
        self.items.append(Noise(kind, seed, held))

    def plan(self, room: Room) -> Plan:
        return Plan(
            self._script.parent.name,
            "dev",
            self._seed,
            self._title,
            self.lines,
            self.passes,
            tuple(self.items),
            room,
            False,
            self._script.read_text(encoding="utf-8"),
        )


def write_truth(plan: Plan, events: Sequence[Event], clean: Samples, take: Path) -> None:
    """``truth.json`` beside the take, in the form of an analysis."""
    told = truth(plan, events, take.name, len(clean) / RATE)
    del told["family"]  # a word of the evaluation's
    (take.parent / "truth.json").write_text(json.dumps(told, indent=1) + "\n", encoding="utf-8")
