"""Starts that were heard as other words: of a line that is broken off a recogniser makes something whole, "We're here!"
of "We'll be". Asked about the line's own words, it finds them as likely."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import reduce
from itertools import pairwise

from lessoncut import wording
from lessoncut.hearing.records import Alignment
from lessoncut.matching.attempts import CLEAR, Attempt, Unscripted, heard_text, how_surely
from lessoncut.matching.beginnings import as_lines_begin
from lessoncut.matching.ground import Ground, said, surely_heard
from lessoncut.matching.lay import Candidate
from lessoncut.matching.lines import laid_anyway
from lessoncut.matching.noises import NEARLY_HERS, NOT_HERS
from lessoncut.matching.speakers import voices_apart
from lessoncut.times import Span

LONGEST_MS, BEFORE_LINE_MS = 2200, 3000
"""A start lasts no longer, and stands so close before the line that is begun anew."""
LEAST_LASTS, MOST_LASTS, MOST_DRAWN = 0.6, 1.8, 4.0
"""Of the time that the words take; who stops at a word may draw it out: then it must have been heard, or be likelier
than what was."""
LIKELIER_DRAWN = 2.0
LESS_LIKELY, LESS_LIKELY_ALIKE, ALIKE = 4.0, 9.0, 0.6
"""How much less likely than what was heard, in natural logarithms, the line's words may be; where both are so alike.
Other talk is so by 5 and more."""
UNLIKE, SURE = 0.5, 0.9
"""Words with less likeness to the line's, each heard so surely, were said unless the line's are as likely."""
A_WORD = 12.0
"""How unlikely it may be, for each of its words, whatever was heard: something unreadable is no start."""
MANY_WORDS = 5
"""So many words that are clear were said unless others are as likely."""
BEHIND_LINE_MS, HARDLY_LIKELIER, FAR_LIKELIER = 3000, 3.0, 12.0
"""What is said so soon behind a line may be that line once more, unless a beginning is so much likelier; and so much
than a line that it was taken for."""
FEWEST_SOUNDS = 2
"""A beginning of fewer is likelier than many a whole line: "a" than "Ship, chip."."""
LEAST_HEARD = 0.5
"""What was heard with less likeness to the line that it was taken for may be something else."""
LOWER_HERS, LOWER_UNLIKE = 21.0, 7.5
"""How far below the usual score they may lie; and where what was heard is unlike them, too: of 19 starts of known truth
four were remarks, 9 and more below it, and of the others that are unlike it so none lay lower than 6.5."""
LONG_ENOUGH_MS, MOST_NEARER = 500, 0.45
"""Talk so long that sounds more like the beginnings of so many of the other lines than like its own is none of it."""
DOUBT = 1.4


@dataclass(frozen=True)
class _Start:
    """Talk that may be the beginning of the line read or begun next, broken off after one of these; ``rivals``: the
    line read right before, that a learner may repeat, and the one that it was taken for though other words were heard,
    each with how much likelier a beginning must be; ``hers``: in a voice that is surely the reader's, or too short to
    tell."""

    talk: Unscripted
    rivals: tuple[tuple[Candidate, float], ...]
    beginnings: tuple[Candidate, ...]
    hers: bool

    @property
    def asked_about(self) -> tuple[Candidate, ...]:
        return (*(rival for rival, _ in self.rivals), *self.beginnings)


def with_misheard_starts(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts in time order with the talk, or the start of another line, right before a reading, or another start
    of it, that may as well be its first words; and what is left of the talk."""
    strange = {Unscripted(each.span, each.heard): each for each in _of_other_lines(attempts)}
    likely = [start for talk in (*left, *strange) if (start := _may_start(ground, attempts, talk, strange.get(talk)))]
    asked = [
        ground.wordings(start.talk.span, heard_text(start.talk), *map(ground.written, start.asked_about))
        for start in likely
    ]
    found: dict[Unscripted, Candidate] = {}
    for start, answer in zip(likely, ground.weigh(asked), strict=True):
        if answer.logs and (beginning := _likeliest(ground, start, *answer.logs)):
            found[start.talk] = beginning
    answers = ground.ask(list(found.values()))
    aligned = any(attempt.laid for attempt in attempts)
    starts = [
        laid_anyway(ground, beginning, answers[beginning], start.talk.words, DOUBT)
        for start in likely
        if (beginning := found.get(start.talk))
        and _may_lie(ground, start, answers[beginning], aligned=aligned)
        and _may_sound(ground, attempts, beginning, said(start.talk.words))
    ]
    taken = {word for start in starts for word in start.heard}
    rest = [talk for talk in left if not taken.intersection(talk.words)]
    starts, behind = _without_what_is_behind(ground, starts)
    rest = sorted([*rest, *behind], key=lambda talk: talk.span)
    given_up = {each for talk, each in strange.items() if taken.intersection(talk.words)}
    kept = [each for each in attempts if each not in given_up]
    return sorted([*kept, *starts], key=lambda each: each.span), rest


def _without_what_is_behind(ground: Ground, starts: Sequence[Attempt]) -> tuple[list[Attempt], list[Unscripted]]:
    """The starts; and what was surely heard behind a pause behind one: "When we edgy. No." is "When the edges", and a
    word about it."""
    found, talk = [], []
    for start in starts:
        behind = tuple(word for word in start.heard if word.span.start_ms >= start.span.end_ms)
        between = Span(start.span.end_ms, behind[0].span.middle_ms) if behind else start.span
        paused = any(hole.overlap_ms(between) for hole in ground.holes(start.span.hull(between)))
        if paused and surely_heard(behind, 1, SURE):
            talk.append(Unscripted(reduce(Span.hull, (word.span for word in behind)), behind))
            found.append(replace(start, heard=start.heard[: -len(behind)]))
        else:
            found.append(start)
    return found, talk


def _of_other_lines(attempts: Sequence[Attempt]) -> list[Attempt]:
    """The starts of another line than the one that is read right after, and readings of one that was not heard."""
    return [
        start
        for start, line in pairwise(attempts)
        if line.full and start.line != line.line and not (start.full and _was_heard(start))
    ]


def _was_heard(reading: Attempt) -> bool:
    return not reading.heard or wording.row_likeness(said(reading.heard), reading.texts) >= LEAST_HEARD


def _may_lie(ground: Ground, start: _Start, answer: Alignment, *, aligned: bool) -> bool:
    """Whether the sound does not speak against the words, in her voice; it must speak for them in what is less like it,
    a laugh perhaps. Where nothing is ``aligned`` it tells nothing; else words that have no path were not said."""
    if not answer.words:
        return start.hers and not aligned
    like = wording.row_likeness(said(start.talk.words), answer.request.words) >= UNLIKE
    lower = (LOWER_HERS if like else LOWER_UNLIKE) if start.hers else 0.0
    return answer.mean_score >= ground.usual_score - lower


def _may_sound(ground: Ground, attempts: Sequence[Attempt], beginning: Candidate, heard: Sequence[str]) -> bool:
    """Whether its words were heard, with others; or its sound is not more like the beginnings of many other lines than
    like that of its own."""
    if beginning.stretch.length_ms < LONG_ENOUGH_MS or set(ground.words_of(beginning)) <= set(heard):
        return True
    found = as_lines_begin(ground, attempts, beginning.stretch, beginning.line)
    if found is None:
        return True
    nearer = sum(other < found.nearest.distance for other in found.others)
    return nearer <= MOST_NEARER * len(found.others)


def _likeliest(ground: Ground, start: _Start, as_heard: float, *logs: float) -> Candidate | None:
    """The likeliest of the beginnings, where it may be what was said, and no repetition of the line before; those that
    must be drawn out only without it."""
    count = len(start.rivals)
    best = max(logs[count:])
    if any(log > best - by for log, (_, by) in zip(logs, start.rivals, strict=False)):
        return None
    logs = logs[count:]
    likely = [
        (ground.lasts(each) < MOST_LASTS, log, each)
        for log, each in zip(logs, start.beginnings, strict=True)
        if log >= max(as_heard + _least(ground, start.talk, each), -A_WORD * len(ground.words_of(each)))
    ]
    return max(likely, key=lambda each: each[:2])[2] if likely else None


def _least(ground: Ground, talk: Unscripted, beginning: Candidate) -> float:
    """How much likelier than what was heard the beginning must be."""
    heard = said(talk.words)
    if not _may_be_so_long(ground, beginning, heard):
        return LIKELIER_DRAWN
    likeness = wording.row_likeness(heard, ground.words_of(beginning))
    if _are_clear(talk) or (likeness < UNLIKE and surely_heard(talk.words, 1, SURE)):
        return 0.0
    return -(LESS_LIKELY_ALIKE if likeness >= ALIKE else LESS_LIKELY)


def _are_clear(talk: Unscripted) -> bool:
    """Whether so many words were heard so surely that few others, which are likelier for being few, say little."""
    return len(talk.words) >= MANY_WORDS and how_surely(talk.words) >= CLEAR


def _may_be_so_long(ground: Ground, beginning: Candidate, heard: Sequence[str]) -> bool:
    return ground.lasts(beginning) < MOST_LASTS or ground.words_of(beginning) == heard


def _may_start(ground: Ground, attempts: Sequence[Attempt], talk: Unscripted, told: Attempt | None) -> _Start | None:
    """``told``: what the talk was taken for."""
    if not talk.words or talk.span.length_ms > LONGEST_MS:
        return None
    at = bisect_left(attempts, talk.span.end_ms, key=lambda attempt: attempt.span.start_ms)
    line = attempts[at] if at < len(attempts) else None
    if line is None or talk.span.gap_to_ms(line.span) > BEFORE_LINE_MS:
        return None
    earlier = (each for each in reversed(attempts[:at]) if each.full and each is not told)
    last = next(earlier, None)
    rivals: list[tuple[int, float]] = []
    if last and last.span.gap_to_ms(talk.span) < BEHIND_LINE_MS:
        rivals.append((last.line, HARDLY_LIKELIER))
    if told and told.full:
        rivals.append((told.line, FAR_LIKELIER))
    others = tuple((ground.whole(rival, talk.span), by) for rival, by in rivals if rival != line.line)
    apart = voices_apart(talk.span, line.span, ground.voice_of)
    if apart is not None and apart > NOT_HERS:
        return None
    like = ground.beginnings_like(line.line, talk.span, talk.words)
    beginnings = tuple(each for each in like if LEAST_LASTS < ground.lasts(each) < MOST_DRAWN)
    if told and told.full:
        beginnings = tuple(e for e in beginnings if wording.sound_count(ground.words_of(e)) >= FEWEST_SOUNDS)
    return _Start(talk, others, beginnings, apart is None or apart <= NEARLY_HERS) if beginnings else None
