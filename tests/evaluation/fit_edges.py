"""Fits the networks that tell where lines begin and end: lessoncut/hearing/edge_nets.npz.

    python -m tests.evaluation.fit_edges --jobs 2
    python -m tests.evaluation.fit_edges --without fresh22     # scores what is left out, and writes nothing

The lessons are those of fitted_on.json, which no measurement may use again. Each is generated and analysed, unless that
was done before; what the aligner laid there is held against the truth.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import partial
from itertools import count as counted
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter

from lessoncut.files import in_the_making
from lessoncut.hearing import edge_nets, edges
from lessoncut.hearing.edge_nets import QUANTILES, SIDES, UNIT_MS, EdgeNets, packed
from lessoncut.hearing.edge_views import end_views
from lessoncut.take.levels import FLOOR_DB, HOP_MS, Levels, decibels, power_of
from lessoncut.times import Span
from lessoncut.workflow.analyze import Request, analyze
from tests.evaluation.generate import lesson_id, write_lesson
from tests.evaluation.voices import cache_folder

HERE = Path(__file__).parent
FITTED_ON = HERE / "fitted_on.json"
NETS = HERE.parent.parent / "lessoncut" / "hearing" / edge_nets.FILE
HIDDEN, NETWORKS = (96, 48), 2
EPOCHS, AT_ONCE, STEP, SHRINKING = 150, 256, 1.5e-3, 0.05
DRAWN = 300
"""Takes of levels alone."""
FURTHEST_SHIFT = 6
"""Frames: as far as the laid edges of another aligner may lie elsewhere."""
SMEARING = 0.05
HALF_MS = 6.0
"""Errors under it count by their square: edges are not told more exactly."""
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
            Levels(self.levels.voice_db[::-1], self.levels.hiss_db[::-1]),
            tuple(edges.backward(span, last_ms) for span in self.laid),
            tuple(edges.backward(span, last_ms) for span in self.limits),
            tuple(last_ms - at for at in self.end_ms),
            tuple(last_ms - at for at in self.start_ms),
        )


@contextmanager
def _watching() -> Iterator[list[tuple[Levels, Sequence[Span], Sequence[Span]]]]:
    """What the matching asks of ``true_edges`` meanwhile."""
    asked: list[tuple[Levels, Sequence[Span], Sequence[Span]]] = []
    usual = edges.true_edges

    def watched(
        levels: Levels, laid: Sequence[Span], limits: Sequence[Span], nets: Callable[[str], EdgeNets] = edge_nets.fitted
    ) -> list[Span]:
        del nets  # which this one makes
        asked.append((levels, laid, limits))
        return list(laid)

    edges.true_edges = watched
    try:
        yield asked
    finally:
        edges.true_edges = usual


def laid_in(lesson: Path) -> Laid:
    """Analyses a generated lesson, with what was heard there before."""
    truth = json.loads((lesson / "truth.json").read_text(encoding="utf-8"))
    folder = lesson / "fitting"
    (folder / "work" / "found.json").unlink(missing_ok=True)
    with _watching() as asked:
        analyze(Request((lesson / truth["take"]["files"][0],), lesson / "script.md"), folder)
    levels, laid, limits = asked[-1]
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
        loud = np.flatnonzero(shape > shape.max() - edges.DEPTH_DB)
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


@dataclass(frozen=True)
class Shown:
    """``views`` of each edge from every one of ``shifts`` (frames), shape (shifts, edges, numbers); and how far each
    lies behind where it was laid, ms."""

    views: NDArray[np.float32]
    outside_ms: Numbers
    shifts: tuple[int, ...] = tuple(range(-FURTHEST_SHIFT, FURTHEST_SHIFT + 1))


def shown(takes: Sequence[Laid]) -> Shown:
    """The ends of the lines in the takes."""
    views, outside = [], []
    for take in takes:
        if not take.laid:
            continue
        ends = np.array(take.end_ms)
        laid_frames_ms = np.array([span.end_ms // HOP_MS * HOP_MS for span in take.laid])
        known = np.isfinite(ends)
        seen = [end_views(take.levels, take.laid, take.limits, shift)[known] for shift in Shown.shifts]
        views.append(np.stack(seen).astype(np.float32))
        outside.append((ends - laid_frames_ms)[known])
    return Shown(np.concatenate(views, axis=1), np.concatenate(outside))


def fit(examples: Shown, seed: int, epochs: int = EPOCHS) -> EdgeNets:
    """One network, by Adam (Kingma and Ba 2015) with weights that shrink beside it."""
    rng = np.random.default_rng(seed)
    wanted = np.clip(examples.outside_ms, -edges.INWARD_MS, edges.OUTWARD_MS) / UNIT_MS
    sizes = (examples.views.shape[2], *HIDDEN, len(QUANTILES))
    weights = [rng.standard_normal((before, after)) * np.sqrt(2 / before) for before, after in pairwise(sizes)]
    added = [np.zeros(after) for after in sizes[1:]]
    mean = [np.zeros_like(one) for one in (*weights, *added)]
    spread = [np.zeros_like(one) for one in mean]
    quantiles, shifts, rounds = np.array(QUANTILES), np.array(examples.shifts), counted(1)
    steps = epochs * (len(wanted) // AT_ONCE)
    for _ in range(epochs):
        order = rng.permutation(len(wanted))
        for chosen in np.split(order, range(AT_ONCE, len(order), AT_ONCE))[: len(order) // AT_ONCE]:
            step = next(rounds)
            which = rng.integers(0, len(examples.views), len(chosen))
            seen = examples.views[which, chosen].astype(np.float64)
            layers = [seen + rng.standard_normal(seen.shape) * SMEARING]
            for at, (weight, more) in enumerate(zip(weights, added, strict=True)):
                told = layers[-1] @ weight + more
                layers.append(np.maximum(told, 0) if at + 1 < len(weights) else told)
            missing = (wanted[chosen] - shifts[which] * HOP_MS / UNIT_MS)[:, None] - layers[-1]
            steep = np.where(missing > 0, -quantiles, 1 - quantiles)
            slope = steep * np.minimum(1, abs(missing) * UNIT_MS / HALF_MS) / len(chosen)
            slopes: list[Numbers] = []
            more_slopes: list[Numbers] = []
            for at in reversed(range(len(weights))):
                slopes.insert(0, layers[at].T @ slope)
                more_slopes.insert(0, slope.sum(axis=0))
                slope = (slope @ weights[at].T) * (layers[at] > 0)
            pace = STEP * (1 + np.cos(np.pi * step / steps))
            for at, (one, by) in enumerate(zip((*weights, *added), (*slopes, *more_slopes), strict=True)):
                mean[at] = 0.9 * mean[at] + 0.1 * by
                spread[at] = 0.999 * spread[at] + 0.001 * by**2
                going = mean[at] / (1 - 0.9**step) / (np.sqrt(spread[at] / (1 - 0.999**step)) + 1e-8)
                one[...] -= pace * (going + SHRINKING * one * (at < len(weights)))
    return EdgeNets(tuple((weight[None], more[None]) for weight, more in zip(weights, added, strict=True)))


def together(nets: Sequence[EdgeNets]) -> EdgeNets:
    """Several networks, asked at once."""
    return EdgeNets(
        tuple(
            (np.concatenate([weight for weight, _ in layer]), np.concatenate([more for _, more in layer]))
            for layer in zip(*(net.layers for net in nets), strict=True)
        )
    )


def nets_for(takes: Sequence[Laid], side: str, epochs: int = EPOCHS, networks: int = NETWORKS) -> EdgeNets:
    """Networks for that side of the lines: of the takes as they are, and as they would be elsewhere."""
    nets = []
    for seed in range(networks):
        rng = np.random.default_rng((seed, SIDES.index(side)))
        more = [elsewhere(take, rng) for take in (*takes, *(drawn(rng) for _ in range(DRAWN)))]
        all_takes = [take.backwards if side == "start" else take for take in (*takes, *more)]
        nets.append(fit(shown(all_takes), seed, epochs))
    return together(nets)


def _lesson(at: Path, family_and_seed: tuple[Any, int]) -> Laid:
    family, seed = family_and_seed
    lesson = at / lesson_id(family, seed)
    return laid_in(lesson if (lesson / "truth.json").is_file() else write_lesson(at, family, seed))


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--lessons", type=Path, default=cache_folder() / "lessons", help="where they are kept")
    parser.add_argument("--without", default="", help="a family that is measured instead")
    parser.add_argument("--jobs", type=int, default=1, help="lessons at a time")
    chosen = parser.parse_args()
    wanted: dict[str, list[int]] = json.loads(FITTED_ON.read_text(encoding="utf-8"))
    drawn = [(family, seed) for family, seeds in wanted.items() for seed in seeds]
    with ProcessPoolExecutor(chosen.jobs) as pool:
        takes = dict(zip(drawn, pool.map(partial(_lesson, chosen.lessons), drawn), strict=True))
        shown_to = [take for (family, _), take in takes.items() if family != chosen.without]
        nets = dict(zip(SIDES, pool.map(partial(nets_for, shown_to), SIDES), strict=True))
    if not chosen.without:
        with in_the_making(NETS) as part:
            arrays: dict[str, Any] = dict(packed(nets))
            np.savez_compressed(part, **arrays)
        return 0
    left_out = [take for (family, _), take in takes.items() if family == chosen.without]
    print(measured(left_out, nets))
    return 0


def measured(takes: Sequence[Laid], nets: Mapping[str, EdgeNets]) -> str:
    """How far the edges that these networks find lie outside the true ones."""
    lines = []
    found = [(take, edges.true_edges(take.levels, take.laid, take.limits, nets.__getitem__)) for take in takes]
    outside = {
        "start": [true - one.start_ms for take, some in found for one, true in zip(some, take.start_ms, strict=True)],
        "end": [one.end_ms - true for take, some in found for one, true in zip(some, take.end_ms, strict=True)],
    }
    for side, errors_ms in outside.items():
        known = np.array(errors_ms)[np.isfinite(errors_ms)]
        lines.append(
            f"{side}s: {len(known)}, middle error {np.median(abs(known)):.0f} ms, 95 of 100 are nearer than"
            f" {np.percentile(abs(known), 95):.0f} ms, more than 40 ms inside: {np.mean(known < -40):.1%}"
        )
    return "\n".join(lines)


if __name__ == "__main__":
    sys.exit(main())
