"""Starts that stand in talk, right before their line, and may end in another word than it has there: "The second sound
begins. No, starts. The second sound starts with a stop."."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from lessoncut import wording
from lessoncut.hearing.records import HeardWord
from lessoncut.matching.attempts import Attempt, Unscripted, how_surely
from lessoncut.matching.beginnings import as_lines_begin
from lessoncut.matching.ground import RUNS_ON_MS, Ground, said
from lessoncut.matching.lay import Candidate
from lessoncut.matching.lines import laid_anyway
from lessoncut.matching.talk import parted
from lessoncut.times import Span

FEWEST_WORDS = 2
"""So many first words of the line were heard, as they are written or as they were heard in the line itself."""
MOST_OTHER = 1
"""So many words may stand behind them in one breath."""
BEFORE_LINE_MS = 3000
"""The talk ends so soon before the line, or another start of it."""
LONGEST_MS, FEWEST_LINES, FAR_MORE_LIKE = 900, 10, 0.7
"""Talk no longer than that, right before a line, which is so many times as far from its beginning as from that of any
of so many other lines is a start whatever was heard: remarks are 0.73 times as far and more."""
UNSURE, MORE_LIKE_THAN_MOST = 0.4, 0.65
"""Talk heard less surely than that is one if no line's beginning is nearer, and most are so much further away."""
LONGEST_OF_TWO_MS = 1500
"""Nor is either of two starts that a pause parts."""
DOUBT = 1.0
_ENDS = (".", "?", "!", ",")


@dataclass(frozen=True)
class _Begun:
    """The words of some talk from the ``first`` up to the ``last`` one, not with it, which begin the line."""

    first: int
    last: int
    line: Attempt
    upto: int


def with_starts_in_talk(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts in time order, with the starts that stand in the talk before their line; and what is left of it."""
    looks: list[tuple[Candidate, Unscripted]] = []
    rests: list[Unscripted] = []
    for talk in left:
        rest, upto = talk, 0
        for each in _begun(ground, attempts, talk):
            before, start = parted(ground, rest, each.first - upto)
            start, rest = parted(ground, start, each.last - each.first)
            upto = each.last
            looks.append((Candidate(each.line.line, each.upto, start.span), start))
            rests += [before] if before.words else []
        rests += [rest] if rest.words or not upto else []
    answers = ground.ask([look for look, _ in looks])
    starts = [laid_anyway(ground, look, answers[look], start.words, DOUBT) for look, start in looks]
    return sorted([*attempts, *starts], key=lambda each: each.span), sorted(rests, key=lambda each: each.span)


def _begun(ground: Ground, attempts: Sequence[Attempt], talk: Unscripted) -> list[_Begun]:
    """The last start in the talk of the line that is read behind it, by its words; or all of it, by its sound, or both
    what stands before a pause and behind it."""
    line = _line_behind(attempts, talk)
    if line is None or not talk.words:
        return []
    starts = (_starting(ground, talk, first, line) for first in reversed(_firsts(ground, talk)))
    if start := next(filter(None, starts), None):
        return [start]
    if talk.span.gap_to_ms(line.span) < RUNS_ON_MS:
        return []
    if upto := _sounding(ground, attempts, talk, line, LONGEST_MS):
        return [_Begun(0, len(talk.words), line, upto)]
    return _two_starts(ground, attempts, talk, line)


def _two_starts(ground: Ground, attempts: Sequence[Attempt], talk: Unscripted, line: Attempt) -> list[_Begun]:
    """Two starts in the talk that a pause parts."""
    for hole in ground.holes(talk.span):
        at = sum(word.span.middle_ms < hole.start_ms for word in talk.words)
        first, second = parted(ground, talk, at)
        if not (first.words and second.words):
            continue
        upto = _sounding(ground, attempts, first, line, LONGEST_OF_TWO_MS)
        again = _sounding(ground, attempts, second, line, LONGEST_OF_TWO_MS) if upto else 0
        if upto and again:
            return [_Begun(0, at, line, upto), _Begun(at, len(talk.words), line, again)]
    return []


def _sounding(ground: Ground, attempts: Sequence[Attempt], talk: Unscripted, line: Attempt, longest_ms: int) -> int:
    """How many words of the line all of the talk begins, where it sounds far more as that begins than as any other
    line; else 0."""
    if talk.span.length_ms > longest_ms:
        return 0
    found = as_lines_begin(ground, attempts, talk.span, line.line)
    if found is None or len(found.others) < FEWEST_LINES:
        return 0
    apart, others = found.nearest.distance, found.others
    hardly_heard = how_surely(talk.words) < UNSURE and apart <= min(*others, MORE_LIKE_THAN_MOST * median(others))
    if apart > FAR_MORE_LIKE * min(others) and not hardly_heard:
        return 0
    upto = found.reading.words_before(found.reading.span.start_ms + found.nearest.length_ms)
    return max(1, min(upto, len(line.words) - 1))


def _line_behind(attempts: Sequence[Attempt], talk: Unscripted) -> Attempt | None:
    """The reading of more than one word that follows the talk so soon, or another start of it."""
    at = bisect_left(attempts, talk.span.middle_ms, key=lambda attempt: attempt.span.start_ms)
    line = next((each for each in attempts[at:] if each.full), None)
    if line is None or attempts[at].line != line.line or len(line.words) < FEWEST_WORDS:
        return None
    read = any(each.span.end_ms > talk.span.middle_ms for each in attempts[:at][-1:])
    return line if not read and talk.span.gap_to_ms(attempts[at].span) <= BEFORE_LINE_MS else None


def _firsts(ground: Ground, talk: Unscripted) -> list[int]:
    """The words of the talk that begin a breath or a sentence."""
    return [at for at in range(len(talk.words) - 1) if not at or _are_apart(ground, talk.words[at - 1 : at + 1])]


def _starting(ground: Ground, talk: Unscripted, first: int, line: Attempt) -> _Begun | None:
    """The start that the talk from that word on begins with."""
    words = talk.words[first:]
    heard = [" ".join(said([word])) for word in words]
    alike = max(wording.first_alike(heard, row) for row in (ground.spoken_words[line.line], said(line.heard)))
    if not FEWEST_WORDS <= alike < len(line.words):
        return None
    for last in range(alike, min(len(words), alike + MOST_OTHER) + 1):
        if last == len(words) or _are_apart(ground, words[last - 1 : last + 1]):
            return _Begun(first, first + last, line, alike)
    return None


def _are_apart(ground: Ground, two: Sequence[HeardWord]) -> bool:
    """Whether a pause, or the end of a sentence, parts two words."""
    before, behind = two
    between = Span(before.span.middle_ms, max(before.span.middle_ms, behind.span.middle_ms))
    return before.text.endswith(_ENDS) or bool(ground.holes(between)) or ground.apart(before, behind)
