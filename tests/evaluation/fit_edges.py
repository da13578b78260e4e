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
from collections.abc import Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from itertools import count as counted
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lessoncut.files import in_the_making
from lessoncut.hearing import edge_nets, edges
from lessoncut.hearing.edge_nets import QUANTILES, SIDES, UNIT_MS, EdgeNets, packed
from lessoncut.hearing.edge_views import end_views
from lessoncut.take.levels import HOP_MS
from tests.evaluation.generate import lesson_id, write_lesson
from tests.evaluation.laid_edges import Laid, Numbers, drawn, elsewhere, laid_in
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
        behind_ms = np.array(take.end_ms) - [span.end_ms for span in take.laid] + edges.since_frame_ms(take.laid)
        known = np.isfinite(behind_ms)
        views.append(end_views(take.levels, take.laid, take.limits, Shown.shifts)[:, known].astype(np.float32))
        outside.append(behind_ms[known])
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


def nets_for(takes: Sequence[Laid], side: str) -> EdgeNets:
    """Networks for that side of the lines: of the takes as they are, and as they would be elsewhere."""
    nets = []
    for seed in range(NETWORKS):
        rng = np.random.default_rng((seed, SIDES.index(side)))
        more = [elsewhere(take, rng) for take in (*takes, *(drawn(rng) for _ in range(DRAWN)))]
        all_takes = [take.backwards if side == "start" else take for take in (*takes, *more)]
        nets.append(fit(shown(all_takes), seed))
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
    lessons = [(family, seed) for family, seeds in wanted.items() for seed in seeds]
    with ProcessPoolExecutor(chosen.jobs) as pool:
        takes = dict(zip(lessons, pool.map(partial(_lesson, chosen.lessons), lessons), strict=True))
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
