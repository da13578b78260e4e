"""The words of full readings that were read otherwise than written: what differs in the text is asked about, and
believed or not."""

from __future__ import annotations

import math
import re
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import islice

from lessoncut import wording
from lessoncut.hearing.records import Alignment, AlignmentRequest
from lessoncut.matching.attempts import Attempt
from lessoncut.matching.beliefs import (
    Facts,
    confidence_of,
    is_likelier,
    is_moved,
    is_worth_asking,
    may_sound_otherwise,
)
from lessoncut.matching.chances import likelier_with
from lessoncut.matching.differences import (
    LEAST_APART,
    differences,
    faint_differences,
    is_word_for_word,
    met_tokens,
    slight_differences,
)
from lessoncut.matching.ground import Ground, said
from lessoncut.matching.records import Change
from lessoncut.script.records import Line

LEAST_SMALL_MS = 140
"""Changes that are not one word for another must last so long for the sound to judge."""
_Difference = tuple[Change, float]
"""And how probable what was heard is."""
_NO_PATH = -200.0
_GOES_ON = re.compile(r"[\w,;)’'-]\s*$")
"""Behind this no sentence begins."""


def supported(change: Change, as_script: Alignment, as_heard: Alignment) -> Change:
    """The change with the sound's word on it: the score of the changed stretch, heard minus script."""
    script, heard = as_script.words[change.first : change.last + 1], as_heard.words[change.first :][: len(change.heard)]
    longer_ms = max(sum(word.span.length_ms for word in words) for words in (script, heard))
    if not is_word_for_word(change) and longer_ms < LEAST_SMALL_MS:
        return change
    heard_side = _mean_score(as_heard, change.first, change.first + len(change.heard))
    return replace(change, support=heard_side - _mean_score(as_script, change.first, change.last + 1))


def _mean_score(alignment: Alignment, first: int, upto: int) -> float:
    words = alignment.words[first:upto]
    length_ms = sum(word.span.length_ms for word in words)
    if not length_ms:
        return _NO_PATH
    return sum(word.score * word.span.length_ms for word in words) / length_ms


def _is_name(line: Line, change: Change) -> bool:
    """Whether the script has a capital there that no sentence asks for, nor a month or a day: recognisers make other
    words of names, each time anew."""
    names = (token for *_, token in met_tokens(line, change) if token.text[:1].isupper())
    token = next(names, None)
    if token is None or wording.is_of_calendar(token.text):
        return False
    return _GOES_ON.search(line.text[: token.start]) is not None


def with_changes(ground: Ground, attempts: Sequence[Attempt]) -> tuple[Attempt, ...]:
    """Each full reading with the words that the sound, too, says were changed."""
    heard_by_line: dict[int, dict[int, Counter[str]]] = defaultdict(dict)
    for at, attempt in enumerate(attempts):
        if attempt.full and attempt.heard and attempt.laid:
            heard_by_line[attempt.line][at] = Counter(said(attempt.heard))
    differing: dict[int, tuple[Facts, ...]] = {}
    for heard in heard_by_line.values():
        for at in heard:
            others = [(attempts[other], words) for other, words in heard.items() if other != at]
            differing[at] = tuple(_differing(ground, attempts[at], others))
    told = {
        at: tuple(dict.fromkeys((*each.changes, *(facts.change for facts in differing.get(at, ())))))
        for at, each in enumerate(attempts)
    }
    likelier = likelier_with(ground, attempts, told)
    asked: dict[int, list[Facts]] = {}
    for at in sorted(differing):
        weighed = [replace(facts, likelier=likelier[at, facts.change]) for facts in differing[at]]
        if worth_asking := [facts for facts in weighed if is_worth_asking(facts)]:
            asked[at] = worth_asking
    sounded = _with_the_sound(ground, attempts, asked)
    changed = list(attempts)
    for at, attempt in enumerate(attempts):
        own = [change for change in attempt.changes if is_likelier(change, likelier[at, change])]
        sure = [replace(facts.change, confidence=confidence_of(facts)) for facts in sounded.get(at, ())]
        own += _apart_from_others([change for change in sure if change.confidence and not _meets(change, own)])
        changed[at] = replace(attempt, changes=tuple(sorted(own, key=lambda each: each.first)))
    return tuple(changed)


def _differing(ground: Ground, attempt: Attempt, others: Sequence[tuple[Attempt, Counter[str]]]) -> Iterator[Facts]:
    """What is known of the differences by the text, and by how the line's other readings sound. ``others``: these, and
    their words."""
    line = ground.script.lines[attempt.line]
    clear = differences(line, attempt.heard, least_apart=1)
    slight = _apart(slight_differences(line, attempt.heard), clear) if line.in_passage else []
    faint = _apart(faint_differences(line, attempt.heard), [*clear, *slight]) if line.in_passage and others else []
    yield from (_facts(ground, attempt, others, each, slight=False) for each in clear)
    yield from (_facts(ground, attempt, others, each, slight=True) for each in slight)
    yield from filter(may_sound_otherwise, (_facts(ground, attempt, others, each, slight=True) for each in faint))


def _facts(
    ground: Ground,
    attempt: Attempt,
    others: Sequence[tuple[Attempt, Counter[str]]],
    difference: _Difference,
    *,
    slight: bool,
) -> Facts:
    line, (change, probability) = ground.script.lines[attempt.line], difference
    right = [other for other, words in others if _are_in(words, change.script, line.spoken)]
    same = sum(_are_in(words, change.heard, change.in_line(line.spoken)) for _, words in others)
    unlike = _unlike(ground, attempt, change, right or [other for other, _ in others])
    named = _is_name(line, change)
    return Facts(change, probability, None, 0.0, len(right), same, line.in_passage, slight, named, unlike, not others)


def _apart(rows: Sequence[_Difference], others: Sequence[_Difference]) -> list[_Difference]:
    """Those that meet none of the others."""
    met = [change for change, _ in others]
    return [(change, probability) for change, probability in rows if not _meets(change, met)]


def _unlike(ground: Ground, attempt: Attempt, change: Change, others: Sequence[Attempt]) -> float | None:
    """How many times as far as usual the sound of the changed words is from that of the nearest of the other readings;
    None where nobody can tell."""
    likenesses = [ground.compare(attempt.span, other.span) for other in others]
    words = attempt.words[change.first : change.last + 1]
    told = [max(likeness.apart(word.span) for word in words) for likeness in likenesses if likeness and words]
    return min(told, default=None)


def _are_in(heard: Counter[str], words: Sequence[str], line: Sequence[str]) -> bool:
    """Whether each of the words was heard as often as the line has it."""
    return all(heard[word] >= line.count(word) for word in words)


def _with_the_sound(
    ground: Ground, attempts: Sequence[Attempt], asked: Mapping[int, Sequence[Facts]]
) -> dict[int, list[Facts]]:
    """With how the line lies on the sound as it stands, and with each change."""
    requests: list[AlignmentRequest] = []
    for at, differing in asked.items():
        script = ground.spoken_words[attempts[at].line]
        rows = (script, *(each.change.in_line(script) for each in differing))
        requests += [ground.request(attempts[at].line, words, attempts[at].span) for words in rows]
    answers = iter(ground.align(requests) if requests else ())
    found: dict[int, list[Facts]] = {}
    for at, differing in asked.items():
        as_script, *as_heard = islice(answers, 1 + len(differing))
        pairs = [(each, (as_script, answer)) for each, answer in zip(differing, as_heard, strict=True)]
        found[at] = [
            replace(each, change=_supported(each.change, pair), gain=_gain(ground, attempts[at], pair))
            for each, pair in pairs
        ]
    return found


def _supported(change: Change, answers: tuple[Alignment, Alignment]) -> Change:
    return change if is_moved(change) else supported(change, *answers)


def _meets(change: Change, others: Sequence[Change]) -> bool:
    return any(change.first <= other.last and other.first <= change.last for other in others)


def _apart_from_others(changes: Sequence[Change]) -> tuple[Change, ...]:
    """Those but the ones of few sounds right beside one of more: its sound was judged with the wrong word beside it."""
    far = [change for change in changes if wording.sounds_apart(change.script, change.heard) > LEAST_APART]
    beside = {at for change in far for at in (change.first - 1, change.last + 1)}
    return tuple(change for change in changes if change in far or not {change.first, change.last} & beside)


def _gain(ground: Ground, attempt: Attempt, answers: tuple[Alignment, Alignment]) -> float:
    """How much better the attempt's sound fits the second row of words than the first, summed over frames; without end
    where it takes the second alone."""
    before, after = (ground.fit(attempt.span, answer) for answer in answers)
    return after - before if math.isfinite(after) else 0.0
