"""Starts with a slip in them: who says "My brother," before "My sister, of course." has begun the line with another
word, and noticed. A recogniser writes what breaks off with a comma, or with dots; or she says so: "My brother. No."."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence

from lessoncut import wording
from lessoncut.hearing.records import HeardWord
from lessoncut.matching.attempts import Attempt, Unscripted, evenly
from lessoncut.matching.ground import Ground, said
from lessoncut.matching.noises import FAR_FROM_HERS
from lessoncut.matching.speakers import voices_apart
from lessoncut.times import Span

MOST_WORDS, LONGEST_MS, BEFORE_LINE_MS = 3, 1500, 3000
"""A slip is noticed at once, and the line begun anew soon."""
LIKE, A_WORD_LIKE = 0.9, 0.6
"""How like the line's first word that of the talk must be; and where it has no other."""
DOUBT = 1.4
_BROKEN_OFF = (",", "-", "–", "…", "...")
CORRECTIONS = frozenset(("no", "sorry", "wait", "oops", "oh"))
"""What is said at once by who has noticed one."""


def with_slips(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts in time order with the talk right before a reading that begins as it does, and breaks off; and what
    is left of the talk."""
    found: list[Attempt] = list(attempts)
    rest: list[Unscripted] = []
    for talk in left:
        begun, behind = _parted(ground, talk)
        start = _slip(ground, attempts, begun, behind)
        if start is None:
            rest.append(talk)
            continue
        found.append(start)
        if behind:
            rest.append(behind)
    return sorted(found, key=lambda each: each.span), rest


def _parted(ground: Ground, talk: Unscripted) -> tuple[Unscripted, Unscripted | None]:
    """The talk up to a pause behind which she corrects herself, and from there on."""
    for at, word in enumerate(talk.words[1:], start=1):
        before = talk.words[at - 1]
        between = Span(before.span.middle_ms, word.span.middle_ms)
        holes = [hole for hole in ground.holes(talk.span) if between.contains(hole.middle_ms)]
        if holes and _corrects(word):
            first = Unscripted(Span(talk.span.start_ms, holes[0].start_ms), talk.words[:at])
            return first, Unscripted(Span(holes[-1].end_ms, talk.span.end_ms), talk.words[at:])
    return talk, None


def _corrects(word: HeardWord) -> bool:
    return not CORRECTIONS.isdisjoint(said([word]))


def _slip(ground: Ground, attempts: Sequence[Attempt], talk: Unscripted, behind: Unscripted | None) -> Attempt | None:
    heard = said(talk.words)
    at = bisect_left(attempts, talk.span.end_ms, key=lambda attempt: attempt.span.start_ms)
    line = attempts[at] if at < len(attempts) else None
    if not (line and line.full and len(line.texts) > 1 and 0 < len(heard) <= MOST_WORDS):
        return None
    broken_off = behind or talk.words[-1].text.endswith(_BROKEN_OFF)
    soon = talk.span.length_ms <= LONGEST_MS and talk.span.gap_to_ms(line.span) <= BEFORE_LINE_MS
    alike = wording.likeness(heard[0], line.texts[0]) >= (LIKE if len(heard) > 1 else A_WORD_LIKE)
    if not (broken_off and soon and alike) or _corrects(talk.words[0]):
        return None
    apart = voices_apart(talk.span, line.span, ground.voice_of)
    if apart is not None and apart > FAR_FROM_HERS:
        return None
    upto = min(len(heard), len(line.texts) - 1)
    words = evenly(line.texts[:upto], talk.span, dict(enumerate(heard)))
    return Attempt(line.line, False, upto, words, talk.words, DOUBT, laid=False)
