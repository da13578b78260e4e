"""A whole small lesson with a real take: both clocks in it, and speech where the readings are."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

import numpy as np

from lessoncut.lesson.build import build
from lessoncut.lesson.pacing import Pacing
from lessoncut.outputs import Programme, on_lesson
from lessoncut.render.records import AS_USUAL, Footage, Wishes
from lessoncut.render.samples import RATE_HZ, Chunk
from lessoncut.take.probe import probe
from lessoncut.take.records import Take
from lessoncut.timeline.layout import lay_out
from lessoncut.timeline.records import Marks, Timeline
from lessoncut.times import Span
from tests.decisions.scene import Scene
from tests.render import clock
from tests.render.sounding import room

READ = """
    L001 -  500 1700
    model P1 2600 7600
    L003 P1 2600 4200
    L004 P1 4700 5500
    L005 P1 6000 7600
    repeat P2 9000 19000
    L003 P2 9000 10600
    L003 P2 11500 13100
    L004 P2 15000 15800
    L005 P2 16700 18300
    L006 -  20500 21400
"""
"""Each pass in turn; L003 is read twice in the repeat pass."""
LENGTH_S = 23.0


@dataclass(frozen=True)
class Filmed:
    """A lesson that can be rendered. ``spoken`` is the take's sound as it was made."""

    path: Path
    take: Take
    timeline: Timeline
    marks: Marks
    programme: Programme
    footage: Footage
    spoken: Chunk


def spoken(level: float = 1.0, noise: float = 2e-3) -> Chunk:
    """Noise that never repeats where somebody speaks, faint room tone elsewhere."""
    sound = room(LENGTH_S, noise, seed=11)
    speech = clock.noise(LENGTH_S)
    for span in spans():
        where = slice(span.start_ms * RATE_HZ // 1000, span.end_ms * RATE_HZ // 1000)
        sound[where] += level * speech[where] * np.hanning(where.stop - where.start)[:, None] ** 0.1
    return sound.astype(np.float32)


def spans() -> list[Span]:
    return [reading.span for reading in Scene(READ).match.readings]


def filmed(
    folder: Path,
    *options: str,
    rate: Fraction = Fraction(30),
    name: str = "take.mp4",
    wishes: Wishes = AS_USUAL,
    pacing: Pacing | None = None,
    sound: Chunk | None = None,
    path: Path | None = None,
) -> Filmed:
    """Recorded, followed, built and laid out; ``path`` is a take that was made already."""
    heard = spoken() if sound is None else sound
    made = path or clock.take(folder / name, *options, rate=rate, length_s=LENGTH_S, sound=heard)
    take = probe([made])
    scene, pace = Scene(READ), pacing or Pacing(level="C2")
    lesson = build(scene.script, take, scene.match, scene.effects, pace)
    timeline, marks = lay_out(lesson, take, scene.match, pace)
    footage = Footage(take, timeline, tuple(spans()), wishes)
    programme = replace(on_lesson(lesson, timeline, marks, "en-GB"), footage=footage)
    return Filmed(made, take, timeline, marks, programme, footage, heard)
