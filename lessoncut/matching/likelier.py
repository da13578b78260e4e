"""Lines that are missing where something else was told: the recogniser, asked about the line's own words, finds them
likelier. "A bit closer." was heard "be closer", and taken for "Closer." once more."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from statistics import mean

from lessoncut import wording
from lessoncut.hearing.records import HeardWord
from lessoncut.matching.attempts import (
    CLEAR,
    COVERED,
    Attempt,
    Unscripted,
    heard_in,
    heard_text,
    how_surely,
    readings_of,
)
from lessoncut.matching.ground import RUNS_ON_MS, Ground, said
from lessoncut.matching.lay import Candidate
from lessoncut.matching.lines import CLEAR_COST, COMMA_MS, laid, laid_anyway
from lessoncut.matching.twins import near_twins
from lessoncut.script.records import Line
from lessoncut.times import Span

LONGEST_MS = 12_000
"""Longer lines are not mistaken for something else."""
LEAST_LASTS, MOST_LASTS = 0.5, 2.2
"""Of the time that the line takes."""
LESS_LIKELY, LIKELIER = 3.0, 2.0
"""How much less likely than what was told, in natural logarithms, the missing line may be: lines that were not said are
so by 9 and more. How much likelier it must be than a line of other words that is said to stand there twice."""
LESS_LIKELY_ALONE = 13.0
LEAST_FITTING, MOST_FITTING, MOST_FITTING_WORD, MOST_APART = 0.7, 1.5, 2.0, 0.75
"""The same for talk or a start that is not clear where but one line is missing, if it lasts as long as that takes, or a
word by itself, which is drawn out, and shares a quarter of its sounds: who leaves a line out says something else in its
place, of the same length, next to never."""
A_WORD = 2.5
"""How much less likely than its own first words a line may be, for each word more: one that was not said costs more."""
A_WORD_OF_TALK = 5.5
"""How unlikely a line may be in the place of talk, for each of its words: in what nobody can read nothing is likely."""
TWINS, LIKELIER_TWIN, LIKELIER_HERE = 0.7, 3.0, 6.0
"""How like each other the words of two lines are that are easily mistaken, how much likelier the other one must be, and
how much more so than in the other readings: of those that were not said none is so by 3.2."""
LEFT_MS = 250
"""So much of a breath that is left over holds a word."""
LIKELIER_AGAIN, SOON_MS = 12.0, 8000
"""How much likelier than a start the line read before it must be, said once more, and how soon: starts are likelier
than that, but for one in 150."""

_MayBe = tuple[tuple[Attempt | Unscripted, ...], Sequence[int]]


@dataclass(frozen=True)
class _Place:
    """Attempts and talk where lines are missing, all the speech that they stand in, and which lines that may be.

    ``again``: the line is not missing, but read just before; whoever repeats it says it.
    """

    parts: tuple[Attempt | Unscripted, ...]
    span: Span
    lines: tuple[Candidate, ...]
    again: bool = False

    @property
    def heard(self) -> tuple[HeardWord, ...]:
        return tuple(word for part in self.parts for word in heard_in(part))


def with_likelier_lines(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts in time order, with missing lines in the place of what is less likely; and what is left of the
    talk."""
    places = list(_places(ground, attempts, left))
    asked = [
        ground.wordings(place.span, _told(ground, place), *(ground.written(line) for line in place.lines))
        for place in places
    ]
    likely: list[tuple[float, _Place, Candidate]] = []
    for place, answer in zip(places, ground.weigh(asked), strict=True):
        if answer.logs:
            told, *logs = answer.logs
            log, line = max(zip(logs, place.lines, strict=True), key=lambda each: each[0])
            if log >= _least(ground, place, line, told):
                likely.append((log - told, place, line))
    taken: set[Attempt | Unscripted] = set()
    found: dict[Candidate, _Place] = {}
    for _, place, line in sorted(likely, key=lambda each: -each[0]):
        if not taken.intersection(place.parts):
            taken.update(place.parts)
            found[line] = place
    answers = ground.ask(list(found))
    lines = [laid_anyway(ground, line, answers[line], place.heard, CLEAR_COST) for line, place in found.items()]
    kept = [attempt for attempt in attempts if attempt not in taken and not _is_covered(attempt, lines)]
    return sorted([*kept, *lines], key=lambda each: each.span), [talk for talk in left if talk not in taken]


def _is_covered(attempt: Attempt, lines: Sequence[Attempt]) -> bool:
    """Whether most of its sound is one of the lines': its beginning, heard twice."""
    return any(attempt.span.overlap_ms(line.span) > COVERED * attempt.span.length_ms for line in lines)


def _least(ground: Ground, place: _Place, line: Candidate, told: float) -> float:
    """How likely the line must be at least, where what was ``told`` is so likely."""
    if place.again:
        return told + LIKELIER_AGAIN
    (first, *more) = place.parts
    if isinstance(first, Attempt) and not more and first.line == line.line and not first.full:
        return told - max(LESS_LIKELY, A_WORD * (line.upto - first.upto))
    if _is_all_but_a_word(ground, place, line):
        return -math.inf
    others = any(isinstance(part, Attempt) and part.full for part in place.parts)
    must_be = _must_be(ground, place)
    if must_be and not (others or more):
        return told - LESS_LIKELY_ALONE
    if others and _spoken(place) != ground.spoken_words[line.line]:
        return told + (-LESS_LIKELY if _leaves_words(ground, place, line) else LIKELIER)
    unreadable = not must_be and not any(isinstance(part, Attempt) for part in place.parts)
    floor = -A_WORD_OF_TALK * len(ground.words_of(line)) if unreadable else -math.inf
    return max(told - LESS_LIKELY, floor)


def _leaves_words(ground: Ground, place: _Place, line: Candidate) -> bool:
    """Whether the one line told there leaves so much of the breath that it stands in that it holds words, and the other
    one ends as it does: its first words were heard as something else."""
    (part, *more) = place.parts
    if more or not isinstance(part, Attempt) or place.span.length_ms - part.span.length_ms < LEFT_MS:
        return False
    own, other = part.texts[-1], ground.spoken_words[line.line]
    return len(other) > len(part.texts) and other[-1] == own and ground.lasts(line) > LEAST_FITTING


def _is_all_but_a_word(ground: Ground, place: _Place, line: Candidate) -> bool:
    """Whether talk in the place of the one line missing has all of its words but one, and another for that: it was
    misread."""
    heard, words = said(place.heard), ground.words_of(line)
    other = sum(mine != its for mine, its in zip(heard, words, strict=False))
    talk = all(isinstance(part, Unscripted) for part in place.parts)
    return talk and len(place.lines) == other == 1 < len(words) == len(heard)


def _must_be(ground: Ground, place: _Place) -> bool:
    """Whether what stands there is so long, so badly heard and so like it that it can hardly be but the one line
    missing."""
    if len(place.lines) > 1 or not place.heard or how_surely(place.heard) >= CLEAR:
        return False
    (line,) = place.lines
    heard, words = said(place.heard), ground.words_of(line)
    most = MOST_APART * max(wording.sound_count(heard), wording.sound_count(words))
    longest = MOST_FITTING_WORD if len(words) == 1 else MOST_FITTING
    return wording.sounds_apart(heard, words) <= most and LEAST_FITTING <= ground.lasts(line) <= longest


def _spoken(place: _Place) -> tuple[str, ...]:
    return tuple(text for part in place.parts if isinstance(part, Attempt) for text in part.texts)


def _told(ground: Ground, place: _Place) -> str:
    return " ".join(_written(ground, part) for part in place.parts)


def _places(ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]) -> Iterator[_Place]:
    longer = (*_with_longer(ground, attempts), *_with_more(ground, attempts, left))
    missing = (*_with_missing(ground, attempts, left), *longer)
    both = (*((each, False) for each in missing), *((each, True) for each in _with_line_before(attempts, left)))
    for (parts, lines), again in both:
        span = wider(ground, attempts, parts[0].span.hull(parts[-1].span))
        already = {part.line for part in parts if len(parts) == 1 and isinstance(part, Attempt) and part.full}
        fitting = [line for line in lines if line not in already and _may_last(ground, span, line)]
        if fitting and span.length_ms <= LONGEST_MS:
            wholes = [ground.whole(line, span) for line in fitting]
            yield _Place(parts, span, tuple(wholes), again=again)


def _with_missing(ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]) -> Iterator[_MayBe]:
    """What stands between two readings of which one is said twice or lines are passed over, alone and with what follows
    it, or a reading of a line from elsewhere; and the lines that may be missing there."""
    full = [at for at, attempt in enumerate(attempts) if attempt.full]
    for number, (first, second) in enumerate(pairwise(full)):
        before, after = attempts[first], attempts[second]
        lines = ground.missing_between(before.line, after.line)
        if not lines:
            continue
        between: list[Attempt | Unscripted] = [*attempts[first + 1 : second], *_talk_between(left, before, after)]
        between.sort(key=lambda each: each.span)
        if number and attempts[full[number - 1]].line == before.line:
            between.insert(0, before)
        if number + 2 < len(full) and attempts[full[number + 2]].line == after.line:
            between.append(after)
        yield from (((part,), lines) for part in between)
        yield from ((pair, lines) for pair in pairwise(between) if _runs_on(*pair) and not _is_begun_anew(*pair))
    for first, odd, second in zip(full, full[1:], full[2:], strict=False):
        before, astray, after = attempts[first], attempts[odd], attempts[second]
        if not before.line <= astray.line <= after.line and (lines := ground.missing_between(before.line, after.line)):
            yield (astray,), lines


def _with_longer(ground: Ground, attempts: Sequence[Attempt]) -> Iterator[_MayBe]:
    """Readings of a line that is the end of another one near it, alone and with what stands before, and that one."""
    for at, attempt in enumerate(attempts):
        before = attempts[at - 1] if at else None
        if attempt.full:
            for line in ground.near(attempt.line):
                if _ends_in(ground.script.lines[line], attempt.texts):
                    yield (attempt,), [line]
                    if before and before.line == line and _is_rest(ground, before, attempt):
                        yield (before, attempt), [line]


def _with_more(ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]) -> Iterator[_MayBe]:
    """Readings of a line that is the beginning of another one near it, with what runs on from them, and that one."""
    parts: list[Attempt | Unscripted] = sorted([*attempts, *left], key=lambda each: each.span)
    for part, more in pairwise(parts):
        if isinstance(part, Attempt) and part.full and part.span.gap_to_ms(more.span) < RUNS_ON_MS and heard_in(more):
            for line in ground.near(part.line):
                words = ground.spoken_words[line]
                if len(words) > part.upto and words[: part.upto] == part.texts:
                    yield (part, more), [line]


def _with_line_before(attempts: Sequence[Attempt], left: Sequence[Unscripted]) -> Iterator[_MayBe]:
    """The starts soon after a reading, alone, with the talk before them, and with all that is said in one go with them;
    and its line: somebody else may have repeated that."""
    full = [at for at, attempt in enumerate(attempts) if attempt.full]
    for first, second in pairwise([*full, len(attempts)]):
        last, starts = attempts[first], attempts[first + 1 : second]
        if not starts:
            continue
        talk = _talk_between(left, last, attempts[second] if second < len(attempts) else None)
        for row in _said_in_one_go(sorted([*starts, *talk], key=lambda each: each.span)):
            soon = row[0].span.gap_to_ms(last.span) < SOON_MS
            others = [at for at, part in enumerate(row) if isinstance(part, Attempt) and part.line != last.line]
            if soon and others:
                rows = {row, *((row[at],) for at in others), *(row[at - 1 : at + 1] for at in others if at)}
                yield from ((parts, [last.line]) for parts in sorted(rows, key=lambda each: (each[0].span, len(each))))


def _said_in_one_go(parts: Sequence[Attempt | Unscripted]) -> list[tuple[Attempt | Unscripted, ...]]:
    rows: list[tuple[Attempt | Unscripted, ...]] = []
    for part in parts:
        runs_on = bool(rows) and _runs_on(rows[-1][-1], part)
        rows[-1:] = [(*rows[-1], part)] if runs_on else [*rows[-1:], (part,)]
    return rows


def _ends_in(line: Line, texts: Sequence[str]) -> bool:
    """Whether that is the end of the line, however its last number is said, but not all of it."""
    words, last = line.spoken, line.tokens[-1]
    ends = words[-len(texts) :] == texts or (texts in last.ways and len(line.tokens) > 1)
    return ends and len(words) > len(texts)


def _is_rest(ground: Ground, reading: Attempt, following: Attempt) -> bool:
    """Whether both together last rather as long as the first one's line takes than it does alone."""
    expected_ms = ground.expected_ms(reading.line, reading.upto)
    alone_ms, both_ms = (ground.speech_ms(span) for span in (reading.span, reading.span.hull(following.span)))
    return _runs_on(reading, following) and abs(both_ms - expected_ms) < abs(alone_ms - expected_ms)


def _runs_on(part: Attempt | Unscripted, following: Attempt | Unscripted) -> bool:
    return part.span.gap_to_ms(following.span) < COMMA_MS


def _is_begun_anew(part: Attempt | Unscripted, following: Attempt | Unscripted) -> bool:
    """Whether the second part is, behind a pause, the line that the first one is a start of: that may be another one,
    but not both."""
    if not (isinstance(part, Attempt) and isinstance(following, Attempt)):
        return False
    return part.is_start_of(following) and part.span.gap_to_ms(following.span) >= RUNS_ON_MS


def _talk_between(left: Sequence[Unscripted], before: Attempt, after: Attempt | None) -> list[Unscripted]:
    rest = (talk for talk in left if talk.words and talk.span.middle_ms >= before.span.end_ms)
    return [talk for talk in rest if after is None or talk.span.middle_ms < after.span.start_ms]


def _may_last(ground: Ground, span: Span, line: int) -> bool:
    expected_ms = ground.expected_ms(line, len(ground.spoken_words[line]))
    return LEAST_LASTS < ground.speech_ms(span) / expected_ms < MOST_LASTS


def wider(ground: Ground, attempts: Sequence[Attempt], span: Span) -> Span:
    """The span with all of the speech that it stands in, but not with other attempts."""
    wide = ground.with_speech(span)
    before_ms = max((each.span.end_ms for each in attempts if each.span.end_ms <= span.start_ms), default=0)
    after_ms = min((each.span.start_ms for each in attempts if each.span.start_ms >= span.end_ms), default=wide.end_ms)
    return Span(max(before_ms, wide.start_ms), min(after_ms, wide.end_ms))


def readings_beside(ground: Ground, attempts: Sequence[Attempt], attempt: Attempt, line: int) -> list[Span]:
    """The readings of the line but this attempt, each with all of the speech that it stands in."""
    return [wider(ground, attempts, other.span) for other in readings_of(line, attempts, attempt)]


def _written(ground: Ground, part: Attempt | Unscripted) -> str:
    if isinstance(part, Unscripted):
        return heard_text(part)
    return ground.written(Candidate(part.line, part.upto, part.span))


def with_likelier_twins(ground: Ground, attempts: Sequence[Attempt]) -> tuple[Attempt, ...]:
    """The attempts, those being of another line near theirs, or a sound away from it, that the recogniser finds
    likelier, where both have nearly the same words, and far more so than in the other readings of their own ("full of
    air" is likelier than "fool of air" whatever is said), unless they sound more like these than like the twin's."""
    a_sound_away = near_twins(ground.spoken_words)
    twins_of = {
        line: list(dict.fromkeys([*_nearly_alike(ground, line), *a_sound_away.get(line, ())]))
        for line in {attempt.line for attempt in attempts if attempt.full}
    }
    readings = [(attempt, twins) for attempt in attempts if attempt.full and (twins := twins_of[attempt.line])]
    asked = [
        ground.wordings(attempt.span, *(ground.script.lines[line].text for line in (attempt.line, *twins)))
        for attempt, twins in readings
    ]
    likelier: dict[tuple[int, int], list[tuple[float, Attempt]]] = defaultdict(list)
    for (attempt, twins), answer in zip(readings, ground.weigh(asked), strict=True):
        for twin, log in zip(twins, answer.logs[1:], strict=False):  # none where nobody can tell
            likelier[attempt.line, twin].append((log - answer.logs[0], attempt))
    others: dict[Attempt, Candidate] = {}
    for (_, twin), of_line in likelier.items():
        for by, attempt in of_line:
            usual = [other for other, reading in of_line if reading is not attempt]
            if not usual or by < max(LIKELIER_TWIN, LIKELIER_HERE + mean(usual)):
                continue
            if not (_was_misread(ground, attempt, twin) or _sounds_as_its_own(ground, attempts, attempt, twin)):
                others[attempt] = ground.whole(twin, attempt.span)
    answers = ground.ask(list(others.values()))
    return tuple(
        replace(laid(ground, others[each], answers[others[each]], None, each.doubt), heard=each.heard)
        if each in others and answers[others[each]].words
        else each
        for each in attempts
    )


def _was_misread(ground: Ground, attempt: Attempt, twin: int) -> bool:
    """Whether it is known to say another word, and what was heard in it is more like its own line for all that: "left
    it at the hospital" is "left it at the office", and not "left it at home"."""
    heard = said(attempt.heard)
    own, its = (wording.row_likeness(heard, ground.spoken_words[line]) for line in (attempt.line, twin))
    return bool(attempt.changes) and own > its


def _sounds_as_its_own(ground: Ground, attempts: Sequence[Attempt], attempt: Attempt, twin: int) -> bool:
    """Whether it sounds more like another reading of its line than like any of the twin's."""
    span = wider(ground, attempts, attempt.span)
    own, its = (
        ground.distance(span, readings_beside(ground, attempts, attempt, line)) for line in (attempt.line, twin)
    )
    return own <= its < math.inf


def _nearly_alike(ground: Ground, line: int) -> list[int]:
    """The lines near it that have nearly its words, but not the same."""
    rows, own = ground.spoken_words, ground.spoken_words[line]
    return [
        other for other in ground.near(line) if rows[other] != own and wording.row_likeness(own, rows[other]) >= TWINS
    ]
