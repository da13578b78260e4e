"""Starts with a slip in them: who says "My brother," before "My sister, of course." has begun the line with another
word, and noticed. A recogniser writes what breaks off with a comma, or with dots."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence

from lessoncut import wording
from lessoncut.matching.attempts import Attempt, Unscripted, evenly
from lessoncut.matching.ground import Ground, said
from lessoncut.matching.noises import FAR_FROM_HERS
from lessoncut.matching.speakers import voices_apart

MOST_WORDS, LONGEST_MS, BEFORE_LINE_MS = 3, 1500, 3000
"""A slip is noticed at once, and the line begun anew soon."""
LIKE, A_WORD_LIKE = 0.9, 0.6
"""How like the line's first word that of the talk must be; and where it has no other."""
DOUBT = 1.4
_BROKEN_OFF = (",", "-", "–", "…", "...")


def with_slips(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts in time order with the talk right before a reading that begins as it does, and breaks off; and what
    is left of the talk."""
    slips = {talk: start for talk in left if (start := _slip(ground, attempts, talk))}
    rest = [talk for talk in left if talk not in slips]
    return sorted([*attempts, *slips.values()], key=lambda each: each.span), rest


def _slip(ground: Ground, attempts: Sequence[Attempt], talk: Unscripted) -> Attempt | None:
    heard = said(talk.words)
    at = bisect_left(attempts, talk.span.end_ms, key=lambda attempt: attempt.span.start_ms)
    line = attempts[at] if at < len(attempts) else None
    if not (line and line.full and 0 < len(heard) <= MOST_WORDS and talk.words[-1].text.endswith(_BROKEN_OFF)):
        return None
    soon = talk.span.length_ms <= LONGEST_MS and talk.span.gap_to_ms(line.span) <= BEFORE_LINE_MS
    alike = wording.likeness(heard[0], line.texts[0]) >= (LIKE if len(heard) > 1 else A_WORD_LIKE)
    if not (soon and alike) or len(line.texts) < 2:
        return None
    apart = voices_apart(talk.span, line.span, ground.voice_of)
    if apart is not None and apart > FAR_FROM_HERS:
        return None
    upto = min(len(heard), len(line.texts) - 1)
    words = evenly(line.texts[:upto], talk.span, dict(enumerate(heard)))
    return Attempt(line.line, False, upto, words, talk.words, DOUBT, laid=False)
