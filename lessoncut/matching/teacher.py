"""Which readings are the teacher's: a learner may repeat after her."""

from __future__ import annotations

from collections.abc import Sequence, Set
from dataclasses import dataclass

from lessoncut.matching.attempts import Attempt, Settled, Unscripted
from lessoncut.matching.ground import said
from lessoncut.matching.speakers import ENOUGH_ECHOES, Voice, VoiceOf, is_clearly_second, is_second, second_speaker

TELLING_MS = 500
"""A start so long can be told another speaker's by its voice alone: of 110 in takes with a learner none of hers was
nearer to that voice, but for one of 240 ms."""
AT_ONCE_MS, SOON_MS = 1000, 6000
"""From a start to the whole line."""


@dataclass(frozen=True)
class _Whole:
    """A whole reading: whose voice is in it, and whether that is the second speaker's."""

    line: int
    voice: Voice | None
    theirs: bool


def of_the_teacher(settled: Settled, voice_of: VoiceOf) -> Settled:
    """What is settled, readings by a second speaker being speech outside the script."""
    full = [attempt for attempt in settled.attempts if attempt.full]
    voices = [voice_of(attempt.span) for attempt in full]
    others = second_speaker([attempt.texts for attempt in full], voices)
    if len(others) < ENOUGH_ECHOES:
        others = second_speaker([attempt.as_said for attempt in full], voices)
    if len(others) < ENOUGH_ECHOES:  # then two lines of the same words in a row are no echo of one another
        others = frozenset(at for at in others if full[at].line == full[at - 1].line)
    if not others:
        return settled
    theirs = {full[at] for at in others}
    if len(theirs) >= ENOUGH_ECHOES:
        whole = [_Whole(attempt.line, voice, attempt in theirs) for attempt, voice in zip(full, voices, strict=True)]
        first_ms = min(attempt.span.start_ms for attempt in theirs)  # of a whole reading; echoes may come before
        begins, echoes = _begins_hers(settled.attempts, theirs), _echoes(settled.attempts)
        later = (each for each in settled.attempts if not each.full and each.span.start_ms > first_ms)
        theirs.update(start for start in later if start not in begins and _is_theirs(start, whole, voice_of))
        theirs.update(start for start in echoes if _is_clearly_theirs(start, whole, voice_of))
    talk = [Unscripted(attempt.span, attempt.heard) for attempt in theirs]
    hers = [attempt for attempt in settled.attempts if attempt not in theirs]
    unscripted = tuple(sorted([*settled.unscripted, *talk], key=lambda item: item.span))
    return Settled(tuple(hers), unscripted)


def _begins_hers(attempts: Sequence[Attempt], theirs: Set[Attempt]) -> set[Attempt]:
    """The starts that her own whole reading of the line follows, and none of it goes before: who repeats begins a line
    after she has read it. Those that nobody heard as that line's must be followed at once."""
    found: set[Attempt] = set()
    waiting: list[Attempt] = []
    last: int | None = None
    for attempt in attempts:
        if not attempt.full:
            waiting = [*(start for start in waiting if start.line == attempt.line), attempt]
            continue
        if attempt.line != last and attempt not in theirs:
            found.update(start for start in waiting if start.line == attempt.line and _leads_to(start, attempt))
        waiting, last = [], attempt.line
    return found


def _leads_to(start: Attempt, line: Attempt) -> bool:
    heard = said(start.heard)[: start.upto] == start.texts
    return start.span.gap_to_ms(line.span) < (SOON_MS if heard else AT_ONCE_MS)


def _echoes(attempts: Sequence[Attempt]) -> set[Attempt]:
    """The starts that say words in a row of the line read before, and of the one they lead to as well."""
    found: set[Attempt] = set()
    last: tuple[str, ...] = ()
    for attempt in attempts:
        if attempt.full:
            last = attempt.texts
        elif _has(last, attempt.texts) or _has(last, said(attempt.heard)):
            found.add(attempt)
    return found


def _has(line: Sequence[str], row: Sequence[str]) -> bool:
    """Whether the words stand in the line in a row."""
    return bool(row) and any(line[at : at + len(row)] == row for at in range(len(line)))


def _is_theirs(start: Attempt, whole: Sequence[_Whole], voice_of: VoiceOf) -> bool:
    """Whether a line's start is the second speaker's, too: nearer to their reading of it than to hers, or clearly."""
    same = [one for one in whole if one.line == start.line]
    as_same = any(one.theirs for one in same) and is_second(voice_of(start.span), *_sides(same))
    return as_same or _is_clearly_theirs(start, whole, voice_of)


def _is_clearly_theirs(start: Attempt, whole: Sequence[_Whole], voice_of: VoiceOf) -> bool:
    """Whether it is long enough, and clearly nearer to their readings, whatever these say, than to hers."""
    return start.span.length_ms >= TELLING_MS and is_clearly_second(voice_of(start.span), *_sides(whole))


def _sides(whole: Sequence[_Whole]) -> tuple[list[Voice | None], list[Voice | None]]:
    """Her voice in the readings, and theirs."""
    hers, theirs = ([one.voice for one in whole if one.theirs == side] for side in (False, True))
    return hers, theirs
