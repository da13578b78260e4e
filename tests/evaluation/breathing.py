"""A teacher who is heard breathing in before she speaks, as every teacher is who wears a microphone.

A breath belongs to the line that follows. It is nothing that anybody should be told of, and no part of the words.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tests.evaluation.plan import Breath, Item, Rest, Said

_SHARE = 0.7
"""Of the teachers; the others turn away, or stand far from the microphone."""
_ROOM_BEFORE_S = 0.12
"""At least so much rest is left before a breath."""


def with_breaths(items: Sequence[Item], rng: np.random.Generator) -> tuple[Item, ...]:
    """The items, with a breath in the rest before some of what the teacher says; or the same, when nobody hears her."""
    if rng.random() >= _SHARE:
        return tuple(items)
    often, level_dbfs = float(rng.uniform(0.3, 0.95)), float(rng.uniform(-54.0, -42.0))
    found: list[Item] = []
    for item in items:
        rest = found[-1] if found else None
        if isinstance(item, Said) and item.role in {"reading", "talk"} and isinstance(rest, Rest):
            breath = Breath(
                float(rng.uniform(0.16, 0.5)), level_dbfs + float(rng.uniform(-3.0, 3.0)), int(rng.integers(1_000_000))
            )
            hole_s = float(rng.uniform(0.03, 0.13))
            left_s = rest.seconds - breath.seconds - hole_s
            if rng.random() < often and left_s >= _ROOM_BEFORE_S:
                found[-1:] = [Rest(left_s), breath, Rest(hole_s)]
        found.append(item)
    return tuple(found)
