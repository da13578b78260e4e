"""Lines that were laid over a pause though all of their words stand on one side of it: "I gave her the bucket." and a
"Good." behind it, or a start that somebody took for the line's first word."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from lessoncut.hearing.records import HeardWord
from lessoncut.matching.attempts import Attempt, Unscripted
from lessoncut.matching.ground import EDGE_MS, RUNS_ON_MS, Ground, said
from lessoncut.matching.lay import Candidate
from lessoncut.matching.lines import laid, laid_anyway
from lessoncut.times import Span

LEAST_LASTS = 0.6
"""Of the time that the line takes: the sound on one side of the pause must hold all of it."""
LESS_LIKELY = 3.5
"""How much less likely, in natural logarithms, all of the line may be there than without the words on the other side;
where they were said, it is so by 6 and more."""
SURE = 0.6
"""From where on a word was heard."""
LOWER = 12.0
"""How far below the score over the pause it may lie."""


@dataclass(frozen=True)
class _Bridge:
    """All of an attempt's line on one side of a pause, the line without the words that were laid on the other side, and
    that side."""

    attempt: Attempt
    whole: Candidate
    trimmed: str
    other: Span


def with_bridges_cut(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts in time order, such lines on their side of the pause alone; and the talk, with what stands on the
    other."""
    bridges = [bridge for attempt in attempts for bridge in _bridges(ground, attempt)]
    whole = are_whole(ground, [(each.whole, each.trimmed) for each in bridges])
    likely = [each for each, is_whole in zip(bridges, whole, strict=True) if is_whole]
    starts = {each: start for each in likely if (start := _start(ground, each))}
    laid_on = ground.ask([*(each.whole for each in likely), *starts.values()])
    cut: dict[Attempt, list[Attempt]] = {}
    talk = list(left)
    for each in likely:
        alignment = laid_on[each.whole]
        lies = alignment.words and alignment.mean_score >= each.attempt.score - LOWER
        if not lies or each.attempt in cut:
            continue
        others = _others(ground, each)
        heard = tuple(word for word in each.attempt.heard if word not in others)
        line = replace(laid(ground, each.whole, alignment, None, each.attempt.doubt), heard=heard)
        start = starts.get(each)
        begun = [laid_anyway(ground, start, laid_on[start], (), each.attempt.doubt)] if start else []
        cut[each.attempt] = [*begun, line]
        if not begun and not any(_is_of(attempt, each) for attempt in attempts if attempt != each.attempt):
            talk.append(Unscripted(each.other, others))
    parted = [part for attempt in attempts for part in cut.get(attempt, [attempt])]
    return parted, sorted(talk, key=lambda each: each.span)


def are_whole(ground: Ground, rows: Sequence[tuple[Candidate, str]]) -> list[bool]:
    """Whether the recogniser finds each line as likely on its stretch as the text beside it, which lacks some of its
    words; False where nobody can tell."""
    asked = [ground.wordings(line.stretch, ground.written(line), trimmed) for line, trimmed in rows]
    logs = [answer.logs for answer in ground.weigh(asked)]
    return [bool(row) and row[0] >= row[1] - LESS_LIKELY for row in logs]


def _start(ground: Ground, bridge: _Bridge) -> Candidate | None:
    """The start on the side before the line, where its first words were surely heard there: what was said twice is
    often heard once."""
    texts = said([word for word in ground.heard_inside(bridge.other) if word.probability >= SURE])
    line = bridge.attempt.line
    before = bridge.other.end_ms <= bridge.whole.stretch.start_ms
    if not before or not texts or ground.spoken_words[line][: len(texts)] != texts:
        return None
    return Candidate(line, len(texts), bridge.other)


def _others(ground: Ground, bridge: _Bridge) -> tuple[HeardWord, ...]:
    """The words heard on the other side but the line's own."""
    own = set(bridge.attempt.texts)
    return tuple(word for word in ground.heard_inside(bridge.other) if not own.intersection(said([word])))


def _is_of(other: Attempt, bridge: _Bridge) -> bool:
    """Whether the other side is the end of another attempt, or a part of it."""
    return other.span.start_ms < bridge.other.end_ms and bridge.other.start_ms < other.span.end_ms + EDGE_MS


def _bridges(ground: Ground, attempt: Attempt) -> list[_Bridge]:
    if not (attempt.full and attempt.laid) or attempt.changes:
        return []
    count, found = len(attempt.words), []
    for pause in ground.holes(attempt.span):
        before = attempt.words_before(pause.middle_ms)
        if pause.length_ms < RUNS_ON_MS or before not in ground.beginnings(attempt.line):
            continue
        sides = Span(attempt.span.start_ms, pause.start_ms), Span(pause.end_ms, attempt.span.end_ms)
        own, other = sorted(sides, key=ground.speech_ms, reverse=True)
        whole = Candidate(attempt.line, count, own)
        if ground.lasts(whole) >= LEAST_LASTS:
            begins = own == sides[0]
            trimmed = ground.written(replace(whole, upto=before)) if begins else ground.written(whole, before)
            found.append(_Bridge(attempt, whole, trimmed, other))
    return found
