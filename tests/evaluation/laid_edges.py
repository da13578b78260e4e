"""Lines that were laid, beside their true edges: what networks are fitted on that tell edges.

They come from generated lessons; from the same lessons as they would sound elsewhere; and from levels that are drawn
at random.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any
from unittest.mock import patch

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter

from lessoncut.hearing import edges
from lessoncut.take.levels import FLOOR_DB, HOP_MS, Levels, decibels, power_of
from lessoncut.times import Span
from lessoncut.workflow.analyze import Request, analyze
from tests.evaluation.signals import EDGE_DEPTH_DB

Numbers = NDArray[np.float64]


@dataclass(frozen=True)
class Laid:
    """The lines that were laid in one take, and the true edges of each; NaN where there is nothing to compare."""

    levels: Levels
    laid: tuple[Span, ...]
    limits: tuple[Span, ...]
    start_ms: tuple[float, ...]
    end_ms: tuple[float, ...]

    @property
    def backwards(self) -> Laid:
        last_ms = self.levels.duration_ms
        return Laid(
            self.levels.backwards,
            tuple(edges.backwards(self.laid, last_ms)),
            tuple(edges.backwards(self.limits, last_ms)),
            tuple(last_ms - at for at in self.end_ms),
            tuple(last_ms - at for at in self.start_ms),
        )


def laid_in(lesson: Path) -> Laid:
    """Analyses a generated lesson, with what was heard there before."""
    truth = json.loads((lesson / "truth.json").read_text(encoding="utf-8"))
    folder = lesson / "fitting"
    (folder / "work" / "found.json").unlink(missing_ok=True)
    with patch.object(edges, "true_edges", side_effect=lambda _levels, laid, _limits: list(laid)) as asked:
        analyze(Request((lesson / truth["take"]["files"][0],), lesson / "script.md"), folder)
    levels, laid, limits = asked.call_args.args
    return against_truth(levels, laid, limits, truth)


def against_truth(levels: Levels, laid: Sequence[Span], limits: Sequence[Span], truth: Mapping[str, Any]) -> Laid:
    true = [Span(round(1000 * r["start_s"]), round(1000 * r["end_s"])) for r in truth["readings"]]
    matching = [next((span for span in true if span.intersection_over_union(one) > 0.5), None) for one in laid]
    starts = tuple(float(span.start_ms) if span else np.nan for span in matching)
    ends = tuple(float(span.end_ms) if span else np.nan for span in matching)
    return Laid(levels, tuple(laid), tuple(limits), starts, ends)


def elsewhere(take: Laid, rng: np.random.Generator) -> Laid:
    """The take in a louder room and with a longer echo, as far as levels can tell of either."""
    peak_db = float(np.percentile(take.levels.voice_db, 99))
    noise_db = peak_db - rng.uniform(18, 90)
    echo_s, echo_db = rng.uniform(0.1, 0.7), -rng.uniform(3, 25)
    hiss_less_db = rng.uniform(-3, 15)

    def heard(band: NDArray[np.float32], room_db: float) -> NDArray[np.float32]:
        power = power_of(band)
        lost = 10 ** (-6 * HOP_MS / 1000 / echo_s)
        late = lfilter([0, 1 - lost], [1, -lost], power) * 10 ** (echo_db / 10)
        noise = 10 ** ((room_db + rng.normal(0, 0.5, len(power))) / 10)
        return decibels(power + late + noise)

    voice_db, hiss_db = take.levels.voice_db, take.levels.hiss_db
    return replace(take, levels=Levels(heard(voice_db, noise_db), heard(hiss_db, noise_db - hiss_less_db)))


def drawn(rng: np.random.Generator, lines: int = 40) -> Laid:
    """A take of levels alone, with lines that rise and fall in every way, and laid edges that are further off than an
    aligner's: what an edge is shall not depend on how the voices here speak, nor on how this aligner errs."""
    at = round(rng.uniform(60, 200))
    level_db = [np.full(at, FLOOR_DB)]
    true, laid = [], []
    bias = rng.uniform((-8, -20), (15, 12))
    for _ in range(lines):
        shape = _line_db(rng)
        loud = np.flatnonzero(shape > shape.max() - EDGE_DEPTH_DB)
        start, end = at + int(loud[0]), at + int(loud[-1]) + 1
        off = np.rint(bias + rng.laplace(0, 5, 2)).astype(int)
        first = max(at - 40, min(start - int(off[0]), end - 5))
        laid.append((first, max(first + 5, end + int(off[1]))))
        true.append((start, end))
        rest = round(rng.choice((rng.uniform(20, 60), rng.uniform(60, 400))))
        between = np.full(rest, FLOOR_DB)
        if rest > 80 and rng.random() < 0.5:  # a breath
            long, till = round(rng.uniform(10, 35)), rest - round(rng.uniform(8, 40))
            between[till - long : till] = shape.max() - rng.uniform(25, 45)
        if rest > 40 and rng.random() < 0.3:  # a click
            till = rest - round(rng.uniform(5, 30))
            between[till - rng.integers(1, 4) : till] = shape.max() - rng.uniform(10, 40)
        level_db += [shape, between]
        at += len(shape) + rest
    voice_db = np.concatenate(level_db)
    hiss_db = voice_db - rng.uniform(-5, 35) - np.convolve(rng.uniform(0, 30, len(voice_db)), np.ones(8) / 8, "same")
    spans = [Span(HOP_MS * first, HOP_MS * last) for first, last in laid]
    befores = [0, *(HOP_MS * end for _, end in true[:-1])]
    afters = [*(HOP_MS * start for start, _ in true[1:]), HOP_MS * at]
    limits = [
        Span(min(before, span.start_ms), max(after, span.end_ms))
        for span, before, after in zip(spans, befores, afters, strict=True)
    ]
    return Laid(
        Levels(voice_db.astype(np.float32), hiss_db.astype(np.float32)),
        tuple(spans),
        tuple(limits),
        tuple(float(HOP_MS * start) for start, _ in true),
        tuple(float(HOP_MS * end) for _, end in true),
    )


def _line_db(rng: np.random.Generator) -> Numbers:
    """Syllables, and how the first begins and the last dies away."""
    length = round(rng.uniform(20, 300))
    swing = rng.uniform(0, 14) * np.sin(np.arange(length) * 2 * np.pi / rng.uniform(15, 35) + rng.uniform(0, 6)) ** 2
    voice = rng.uniform(-35, -12) - swing - np.convolve(rng.uniform(0, 6, length), np.ones(3) / 3, "same")
    return np.concatenate((_slope_db(rng, voice[0], 0.0)[::-1], voice, _slope_db(rng, voice[-1], 0.3)))


def _slope_db(rng: np.random.Generator, from_db: float, releasing: float) -> Numbers:
    """How a sound dies away: at once or in one or two pieces; in ``releasing`` of them there is a release at last."""
    pieces = [np.empty(0)]
    for _ in range(rng.integers(0, 3)):
        deep_db, long = rng.uniform(3, 35), round(rng.uniform(1, 18))
        pieces.append(from_db - np.linspace(0, deep_db, long + 1)[1:])
        from_db -= deep_db
    if rng.random() < releasing:
        released = np.linspace(0, 25, round(rng.uniform(2, 8)))
        pieces += [np.full(round(rng.uniform(3, 12)), FLOOR_DB), from_db + rng.uniform(-10, 15) - released]
    return np.concatenate(pieces)
