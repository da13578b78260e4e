"""A remark that takes up the line just read: "I look at my shoes. I really do look at my shoes." is a reading and talk.

Who reads a line again right after reading it right says its own words, or a wrong one for one of them; more words than
the line has are her own.
"""

from __future__ import annotations

from collections.abc import Sequence

from lessoncut.matching.attempts import Attempt, Unscripted
from lessoncut.matching.ground import Ground


def with_remarks_apart(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts in time order without remarks; and the talk with them."""
    remarks = [
        attempt
        for before, attempt, after in zip([None, *attempts], attempts, [*attempts[1:], None], strict=False)
        if before and _takes_up(before, attempt) and not (after and after.line == attempt.line)
    ]
    talk = [Unscripted(attempt.span, tuple(ground.heard_inside(attempt.span))) for attempt in remarks]
    return [each for each in attempts if each not in remarks], sorted([*left, *talk], key=lambda each: each.span)


def _takes_up(before: Attempt, attempt: Attempt) -> bool:
    again = before.full and attempt.full and before.line == attempt.line and not before.changes
    return again and any(len(change.heard) > len(change.script) for change in attempt.changes)
