"""The words of full readings that were read otherwise than written: what differs in the text is asked about, and
believed or not."""

from __future__ import annotations

import math
import re
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import islice

from lessoncut import wording
from lessoncut.hearing.records import Alignment, AlignmentRequest
from lessoncut.matching.attempts import Attempt
from lessoncut.matching.beliefs import (
    KNOWN_LIKELIER,
    LEAST_WORTH,
    LIKELIER,
    Facts,
    by_at_least,
    confidence_of,
    is_likelier,
    is_moved,
)
from lessoncut.matching.chances import likelier_with
from lessoncut.matching.differences import (
    LEAST_APART,
    differences,
    is_word_for_word,
    met_tokens,
    slight_differences,
)
from lessoncut.matching.ground import Ground, said
from lessoncut.matching.records import Change
from lessoncut.script.records import Line

LEAST_SMALL_MS = 140
"""Changes that are not one word for another must last so long for the sound to judge."""
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
    heard_by_line: dict[int, list[tuple[int, frozenset[str]]]] = defaultdict(list)
    found: dict[int, dict[Change, _Difference]] = {}
    for at, attempt in enumerate(attempts):
        if attempt.full and attempt.heard and attempt.laid:
            heard_by_line[attempt.line].append((at, frozenset(said(attempt.heard))))
            found[at] = _found(ground.script.lines[attempt.line], attempt)
    told = {at: tuple(dict.fromkeys((*each.changes, *found.get(at, ())))) for at, each in enumerate(attempts)}
    likelier = likelier_with(ground, attempts, told)
    likely: dict[int, list[Facts]] = {}
    for at, differing in found.items():
        line = attempts[at].line
        others = [words for other, words in heard_by_line[line] if other != at]
        known = [
            _known(ground.script.lines[line], each, likelier[at, each.change], others) for each in differing.values()
        ]
        if worth_asking := [facts for facts in known if _is_worth_asking(facts)]:
            likely[at] = worth_asking
    heard = _with_the_sound(ground, attempts, likely)
    changed = list(attempts)
    for at, attempt in enumerate(attempts):
        own = [change for change in attempt.changes if is_likelier(change, likelier[at, change])]
        sure = [replace(each.change, confidence=confidence_of(each)) for each in heard.get(at, ())]
        own += _apart_from_others([change for change in sure if change.confidence and not _meets(change, own)])
        changed[at] = replace(attempt, changes=tuple(sorted(own, key=lambda each: each.first)))
    return tuple(changed)


@dataclass(frozen=True)
class _Difference:
    """``slight``: the text alone does not speak for it."""

    change: Change
    probability: float
    slight: bool


def _found(line: Line, attempt: Attempt) -> dict[Change, _Difference]:
    clear = differences(line, attempt.heard, least_apart=1)
    slight = slight_differences(line, attempt.heard) if line.in_passage else ()
    met = [change for change, _ in clear]
    return {change: _Difference(change, sure, slight=False) for change, sure in clear} | {
        change: _Difference(change, sure, slight=True) for change, sure in slight if not _meets(change, met)
    }


def _known(line: Line, each: _Difference, likelier: float | None, others: Sequence[frozenset[str]]) -> Facts:
    """All but what the sound says. ``others``: words of the line's other readings."""
    change = each.change
    right, same = (sum(words.issuperset(side) for words in others) for side in (change.script, change.heard))
    named = _is_name(line, change)
    return Facts(change, each.probability, likelier, 0.0, right, same, line.in_passage, each.slight, named)


def _is_worth_asking(facts: Facts) -> bool:
    if facts.slight:
        return by_at_least(facts.likelier, LEAST_WORTH)
    return is_likelier(facts.change, facts.likelier, KNOWN_LIKELIER if facts.known else LIKELIER)


def _with_the_sound(
    ground: Ground, attempts: Sequence[Attempt], likely: Mapping[int, Sequence[Facts]]
) -> dict[int, list[Facts]]:
    """With how the line lies on the sound as it stands, and with each change."""
    asked: list[AlignmentRequest] = []
    for at, differing in likely.items():
        script = ground.spoken_words[attempts[at].line]
        rows = (script, *(each.change.in_line(script) for each in differing))
        asked += [ground.request(attempts[at].line, words, attempts[at].span) for words in rows]
    answers = iter(ground.align(asked) if asked else ())
    found: dict[int, list[Facts]] = {}
    for at, differing in likely.items():
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
