"""How long work says how far it is.

A function that takes a while has a parameter ``progress: Progress = no_progress`` and calls it with the share done,
0 to 1, never going back. To stop the work, the receiver raises ``Cancelled`` (or Ctrl-C does it): the work ends its
processes, leaves no half-written file, and lets the error through.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

Progress = Callable[[float], None]


def no_progress(done: float) -> None:
    """For callers who do not want to know."""


def part(whole: Progress, start: float, end: float) -> Progress:
    """The progress of a step that takes the whole from ``start`` to ``end``."""

    def step(done: float) -> None:
        whole(start + (end - start) * done)

    return step


def forward(whole: Progress) -> Progress:
    """The same, never going back: for work that may begin anew in another way."""
    furthest = 0.0

    def step(done: float) -> None:
        nonlocal furthest
        furthest = max(furthest, done)
        whole(furthest)

    return step


def shares(whole: Progress, weights: Sequence[float]) -> tuple[Progress, ...]:
    """One progress a step; each moves the whole by its share of the weights (all positive)."""
    total = sum(weights)
    ends = [sum(weights[: step + 1]) / total for step in range(len(weights))]
    return tuple(part(whole, start, end) for start, end in zip([0.0, *ends], ends, strict=False))
