"""Attempts that follow one another without a pause: each laid by itself, they reach into one another's sound, or one
has taken what is the other's. Laid as one row of words, they part where they should."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import islice, pairwise, product

from lessoncut.hearing.records import Alignment, AlignmentRequest
from lessoncut.matching.attempts import Attempt
from lessoncut.matching.ground import EDGE_MS, RUNS_ON_MS, Ground
from lessoncut.matching.lay import Candidate
from lessoncut.matching.lines import laid
from lessoncut.take.levels import Levels, quietest_ms
from lessoncut.times import Span

MOST_ROWS = 4
"""Of ways to say one row; each costs the aligner the whole of its sound."""
TOUCHING_MS, AROUND_MS = 30, 80
"""What lies nearer together touches; and how far from its laid edges the quiet place between may lie."""


def parted_at_joints(ground: Ground, attempts: Sequence[Attempt]) -> list[Attempt]:
    """The attempts, in time order, those without a pause between them laid as one row of words."""
    groups = _groups(ground, attempts)
    rows = [(at, row) for at, group in enumerate(groups) if len(group) > 1 for row in _rows(ground, group)]
    requests = [_request(ground, groups[at], row) for at, row in rows]
    best: dict[int, tuple[float, list[Attempt]]] = {}
    for (at, row), answer in zip(rows, ground.align(requests) if requests else (), strict=True):
        fits = ground.fit(answer.request.window, answer)
        if answer.words and (at not in best or fits > best[at][0]):
            best[at] = fits, _laid(groups[at], row, [word.span for word in answer.words])
    return [attempt for at, group in enumerate(groups) for attempt in (best[at][1] if at in best else group)]


def parted_at_pauses(ground: Ground, attempts: Sequence[Attempt]) -> list[Attempt]:
    """The attempts, in time order, those that meet though there is a pause between what was heard of either laid anew
    on their own sides of it: the second one's first word was laid on the end of the first."""
    looks: dict[int, list[Candidate]] = {}
    for at, (before, after) in enumerate(pairwise(attempts)):
        if pause := _pause_between(ground, before, after):
            sides = Span(before.span.start_ms, pause.start_ms), Span(pause.end_ms, after.span.end_ms)
            pairs = zip((before, after), sides, strict=True)
            looks[at] = [Candidate(one.line, one.upto, side) for one, side in pairs]
    answers = ground.ask([look for pair in looks.values() for look in pair])
    found = list(attempts)
    for at, pair in looks.items():
        if all(answers[look].words for look in pair):
            both = zip(attempts[at : at + 2], pair, strict=True)
            found[at : at + 2] = [_laid_anew(ground, one, look, answers[look]) for one, look in both]
    return found


def _laid_anew(ground: Ground, attempt: Attempt, look: Candidate, alignment: Alignment) -> Attempt:
    anew = laid(ground, look, alignment, None, attempt.doubt)
    pairs = zip(anew.words, attempt.words, strict=True)
    return replace(attempt, words=tuple(replace(word, heard=was.heard) for word, was in pairs), score=anew.score)


def _pause_between(ground: Ground, before: Attempt, after: Attempt) -> Span | None:
    """The pause that parts what was heard of the two, in the second one's sound."""
    meets = after.span.start_ms - before.span.end_ms < EDGE_MS and after.span.start_ms > before.span.start_ms
    if not (meets and before.laid and after.laid and before.heard and after.heard) or before.changes or after.changes:
        return None
    last_ms = max(word.span.middle_ms for word in before.heard)
    first_ms = min(word.span.middle_ms for word in after.heard)
    between = (hole for hole in ground.holes(after.span) if last_ms < hole.start_ms and hole.end_ms < first_ms)
    pause = max(between, key=lambda hole: hole.length_ms, default=None)
    return pause if pause and pause.length_ms >= RUNS_ON_MS else None


def parted_where_quiet(levels: Levels, attempts: Sequence[Attempt]) -> list[Span]:
    """The attempts' spans, in time order, those that touch or overlap parted at the quietest place near there."""
    found = [attempt.span for attempt in attempts]
    for at, (before, after) in enumerate(pairwise(attempts)):
        touching = before.span.end_ms + TOUCHING_MS > after.span.start_ms
        if touching and before.span.start_ms < after.span.start_ms and before.span.end_ms < after.span.end_ms:
            parted_ms = quietest_ms(levels, _joint(before, after))
            found[at], found[at + 1] = Span(found[at].start_ms, parted_ms), Span(parted_ms, after.span.end_ms)
    return found


def _joint(before: Attempt, after: Attempt) -> Span:
    """Where one ends and the other begins, give or take; but in neither's middle of a word."""
    first_ms, last_ms = sorted((before.span.end_ms, after.span.start_ms))
    earliest_ms = max(first_ms - AROUND_MS, min(first_ms, before.words[-1].span.middle_ms))
    return Span(earliest_ms, min(last_ms + AROUND_MS, max(last_ms, after.words[0].span.middle_ms)))


def _groups(ground: Ground, attempts: Sequence[Attempt]) -> list[list[Attempt]]:
    """The attempts, those together that follow one another without a pause."""
    groups: list[list[Attempt]] = []
    for attempt in attempts:
        if groups and _runs_on(ground, groups[-1][-1], attempt):
            groups[-1].append(attempt)
        else:
            groups.append([attempt])
    return groups


def _runs_on(ground: Ground, first: Attempt, second: Attempt) -> bool:
    near = second.span.start_ms - first.span.end_ms < EDGE_MS
    between = Span(first.words[-1].span.start_ms, max(first.span.end_ms, second.words[0].span.end_ms))
    return first.laid and second.laid and near and not ground.holes(between)


def _request(ground: Ground, group: Sequence[Attempt], row: Sequence[Sequence[str]]) -> AlignmentRequest:
    return ground.request_heard([word for part in row for word in part], group[0].span.hull(group[-1].span))


def _rows(ground: Ground, group: Sequence[Attempt]) -> list[tuple[tuple[str, ...], ...]]:
    """The words of each attempt; and where one broke off, that with the line's next word, which may have been begun."""
    ways = [list(dict.fromkeys([each.as_said, (*each.as_said, *_next_word(ground, each))])) for each in group]
    return list(islice(product(*ways), MOST_ROWS))


def _next_word(ground: Ground, attempt: Attempt) -> tuple[str, ...]:
    return ground.spoken_words[attempt.line][attempt.upto : attempt.upto + 1]


def _laid(group: Sequence[Attempt], row: Sequence[Sequence[str]], spans: Sequence[Span]) -> list[Attempt]:
    found = []
    for attempt, part in zip(group, row, strict=True):
        mine, spans = spans[: len(part)], spans[len(part) :]
        for change in sorted(attempt.changes, key=lambda each: each.first):
            mine = change.as_script(mine)
        count = len(attempt.words)
        mine = (*mine[: count - 1], mine[count - 1].hull(mine[-1]))
        words = tuple(replace(word, span=span) for word, span in zip(attempt.words, mine, strict=True))
        found.append(replace(attempt, words=words))
    return found
