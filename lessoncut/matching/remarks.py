"""A remark that takes up a line just read: "I look at my shoes. I really do look at my shoes." is a reading and talk.

Who reads a line again right after reading it right says its own words, or a wrong one for one of them; more words than
the line has are her own, and so they are a few lines later if she goes on talking.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import reduce

from lessoncut.matching.attempts import Attempt, Unscripted
from lessoncut.matching.ground import EDGE_MS, Ground
from lessoncut.matching.talk import with_more_talk

NEAR = 4
"""Attempts."""


def with_remarks_apart(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts in time order without remarks; and the talk with them."""
    remarks = [
        attempt
        for at, attempt in enumerate(attempts)
        if _says_more(attempt)
        and not any(after.line == attempt.line for after in attempts[at + 1 : at + 2])
        and _takes_up(attempts[max(0, at - NEAR) : at], attempt, left)
    ]
    talk = [Unscripted(attempt.span, tuple(ground.heard_inside(attempt.span))) for attempt in remarks]
    return [each for each in attempts if each not in remarks], reduce(with_more_talk, talk, list(left))


def _says_more(attempt: Attempt) -> bool:
    return attempt.full and any(len(change.heard) > len(change.script) for change in attempt.changes)


def _takes_up(before: Sequence[Attempt], attempt: Attempt, left: Sequence[Unscripted]) -> bool:
    """Whether the line was read right just before; or not long ago, and talk runs on from what is said of it."""
    runs_on = any(talk.words and 0 <= talk.span.start_ms - attempt.span.end_ms < EDGE_MS for talk in left)
    read = (each.line == attempt.line and each.full and not each.changes for each in reversed(before))
    return any(read) if runs_on else next(read, False)
