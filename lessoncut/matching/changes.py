"""Which of the differences in a reading's words were read: what the sound says, and how likely the recogniser finds
them."""

from __future__ import annotations

import math
import re
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from lessoncut import wording
from lessoncut.hearing.records import Alignment, AlignmentRequest
from lessoncut.matching.attempts import Attempt
from lessoncut.matching.differences import (
    LEAST_APART,
    SURELY_HEARD,
    differences,
    is_guessed,
    is_word_for_word,
    met_tokens,
)
from lessoncut.matching.fillers import FILLERS
from lessoncut.matching.ground import Ground, said
from lessoncut.matching.records import Change
from lessoncut.script.records import Line

LEAST_EVIDENCE = 12.5
"""In log score a frame: of the sound, with all else that speaks for a change turned into it."""
LEAST_SUPPORT = 5.0
"""Of the sound by itself."""
LEAST_SMALL_MS, SMALL_WORDS_COST = 140, 12.5
"""Changes that are not one word for another must last so long for the sound to judge, and have so much more
evidence."""
SOUND_WORTH, PROBABILITY_WORTH = 3.0, 30.0
"""What another sound apart, and all the probability there is, are worth as evidence."""
ELSEWHERE_RIGHT, ELSEWHERE_SAME = 4.0, 18.0
"""What it is worth that the line's other readings were heard as the script; or just as this one, as words are that the
recogniser cannot tell apart in this voice."""
LEAST_GAIN, MOVED_CONFIDENCE = 1000.0, 0.85
"""How much better the sound must fit with words left out, put in or swapped, summed over frames: what a recogniser
lost is worth less than 500."""
LIKELIER, KNOWN_LIKELIER, MOVED_LIKELIER = 5.0, 3.0, 3.5
"""How much likelier the recogniser finds the line with the change than as it stands, in natural logarithms; where it
heard the script's words in another reading, and never these; with words but left out, put in or swapped."""
NEAR_SUPPORT = 10.0
"""Of the sound by itself for a word that is but one sound from the script's; it must be known to be heard in her voice,
too."""
LIKELIHOOD_WORTH = 1.5
"""What each more of that is worth as evidence for words of clearly other sounds, unless other readings were heard with
the change, too."""
CLEARLY_LIKELIER, CLEARLY_LIKELIER_GAIN = 12.0, 500.0
"""So much likelier the words were said, if they were heard surely and have clearly other sounds, however they lie on
the sound; with words left out, put in or swapped, the sound need fit but so much better."""
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


def evidence(change: Change, probability: float, elsewhere_right: int, elsewhere_same: int) -> float:
    """All that speaks for the change, in log score a frame.

    Little is known but of one word for another.
    ``elsewhere_right`` of the line's other readings were heard as the script there, ``elsewhere_same`` as this one.
    """
    if not is_word_for_word(change):
        return change.support - SMALL_WORDS_COST
    found = change.support + PROBABILITY_WORTH * (probability - SURELY_HEARD)
    found += SOUND_WORTH * (wording.sounds_apart(change.script, change.heard) - LEAST_APART)
    if elsewhere_right and not elsewhere_same:
        return found + ELSEWHERE_RIGHT
    return found - ELSEWHERE_SAME if elsewhere_same and not elsewhere_right else found


def with_changes(ground: Ground, attempts: Sequence[Attempt]) -> tuple[Attempt, ...]:
    """Each full reading with the words that the sound, too, says were changed."""
    asked: list[AlignmentRequest] = []
    differing: dict[int, tuple[tuple[Change, float], ...]] = {}
    heard_by_line: dict[int, list[tuple[int, frozenset[str]]]] = defaultdict(list)
    for at, attempt in enumerate(attempts):
        if not (attempt.full and attempt.heard and attempt.laid):
            continue
        script_words = ground.spoken_words[attempt.line]
        heard_by_line[attempt.line].append((at, frozenset(said(attempt.heard))))
        differing[at] = differences(ground.script.lines[attempt.line], attempt.heard, least_apart=1)
        if differing[at]:
            for words in (script_words, *(change.in_line(script_words) for change, _ in differing[at])):
                asked.append(ground.request(attempt.line, words, attempt.span))
    answers = iter(ground.align(asked) if asked else ())
    told = {at: (*each.changes, *(change for change, _ in differing.get(at, ()))) for at, each in enumerate(attempts)}
    likelier = _likelier(ground, attempts, told)
    changed = list(attempts)
    for at, attempt in enumerate(attempts):
        own = [change for change in attempt.changes if _is_likelier(change, likelier[at, change])]
        if differing.get(at):
            as_script = next(answers)
            others = [words for other, words in heard_by_line[attempt.line] if other != at]
            believed = [
                _believed(ground, attempt, difference, (as_script, next(answers)), others, likelier[at, difference[0]])
                for difference in differing[at]
            ]
            own += _apart_from_others([change for change in believed if change and not _meets(change, own)])
        changed[at] = replace(attempt, changes=tuple(sorted(own, key=lambda each: each.first)))
    return tuple(changed)


def _likelier(
    ground: Ground, attempts: Sequence[Attempt], changes: Mapping[int, Sequence[Change]]
) -> dict[tuple[int, Change], float | None]:
    """How much likelier than as it stands the recogniser finds the attempt's line with each change, alone or among the
    others there; None where nobody can tell."""
    asked = {at: _ways(ground.script.lines[attempts[at].line], of_it) for at, of_it in changes.items() if of_it}
    rows = [ground.wordings(attempts[at].span, *dict.fromkeys(ways.values())) for at, ways in asked.items()]
    likelier: dict[tuple[int, Change], float | None] = {}
    for (at, ways), row, answer in zip(asked.items(), rows, ground.weigh(rows), strict=True):
        logs = dict(zip(row.texts, answer.logs, strict=False))
        found = {believed: logs[text] for believed, text in ways.items()} if logs else {}
        likelier |= {(at, change): _by(found, change) if found else None for change in changes[at]}
    return likelier


def _ways(line: Line, changes: Sequence[Change]) -> dict[frozenset[Change], str]:
    """The line with none of the changes, with each, with all, and with all but each."""
    every = frozenset(changes)
    believed = [frozenset[Change](), *(frozenset({each}) for each in every), every, *(every - {each} for each in every)]
    return {some: _written(line, changes, some) for some in believed}


def _by(logs: Mapping[frozenset[Change], float], change: Change) -> float:
    """How much likelier the line is with the change: alone; or with it among all of them, if these are so, too. Of "a
    child finds" and "some children find" neither part is likely without the other."""
    none, every, alone = frozenset[Change](), max(logs, key=len), frozenset({change})
    among_all = min(logs[every] - logs[every - alone], logs[every] - logs[none])
    return max(logs[alone] - logs[none], among_all)


def _written(line: Line, changes: Sequence[Change], believed: frozenset[Change]) -> str:
    """The line as it is written, but for the changes: what was heard where they are believed, else the script's words.
    A number in figures is spelt out in both: recognisers write figures, and would find any other writing unlikely."""
    text, at = "", 0
    for first, upto, start, end, of_them in _in_tokens(line, changes):
        words = list(line.spoken)
        for change in sorted(believed.intersection(of_them), key=lambda each: each.first, reverse=True):
            words[change.first : change.last + 1] = change.heard
        changed = tuple(words[first : len(words) - len(line.spoken) + upto])
        figures = all(map(wording.is_number, line.spoken[first:upto])) and not line.text[start:end].isalpha()
        as_script = not believed.intersection(of_them) and not figures
        text += line.text[at:start] + (line.text[start:end] if as_script else " ".join(changed))
        at = end
    return text + line.text[at:]


def _in_tokens(line: Line, changes: Sequence[Change]) -> Iterator[tuple[int, int, int, int, list[Change]]]:
    """The changes, those together that meet the same tokens; with the words of these, and their place in the text."""
    groups: list[tuple[int, int, int, int, list[Change]]] = []
    for change in sorted(changes, key=lambda each: each.first):
        met = list(met_tokens(line, change))
        (first, _, token), (_, upto, last) = met[0], met[-1]
        start, end, of_them = token.start, last.end, [change]
        if groups and first < groups[-1][1]:
            before = groups.pop()
            first, start, of_them = before[0], before[2], [*before[4], change]
        groups.append((first, upto, start, end, of_them))
    yield from groups


def _is_likelier(change: Change, by: float | None, least: float = LIKELIER) -> bool:
    """Whether the line with the change is so much likelier that it may have been read. Words said twice, and sounds of
    hesitation, are left out by recognisers themselves."""
    if by is None:
        return True
    if not _is_moved(change):
        return by >= least
    return by >= MOVED_LIKELIER or _is_stumble(change)


def _is_stumble(change: Change) -> bool:
    """Whether all that was put in are sounds of hesitation, or words that were said twice."""
    heard = Counter(change.heard)
    added = heard - Counter(change.script)
    return bool(added) and all(word in FILLERS or heard[word] > 1 for word in added)


def _meets(change: Change, others: Sequence[Change]) -> bool:
    return any(change.first <= other.last and other.first <= change.last for other in others)


def _apart_from_others(changes: Sequence[Change]) -> tuple[Change, ...]:
    """Those but the ones of few sounds right beside one of more: its sound was judged with the wrong word beside it."""
    far = [change for change in changes if wording.sounds_apart(change.script, change.heard) > LEAST_APART]
    beside = {at for change in far for at in (change.first - 1, change.last + 1)}
    return tuple(change for change in changes if change in far or not {change.first, change.last} & beside)


def _believed(
    ground: Ground,
    attempt: Attempt,
    difference: tuple[Change, float],
    answers: tuple[Alignment, Alignment],
    others: Sequence[frozenset[str]],
    likelier: float | None,
) -> Change | None:
    """The change with what speaks for it; None where that is too little. ``answers``: the line as it stands on the
    sound, and as it was heard; ``others``: words of the other readings; ``likelier``: see ``_likelier``."""
    change, probability = difference
    right, same = (sum(words.issuperset(side) for words in others) for side in (change.script, change.heard))
    known = right > 0 and not same
    if not _is_likelier(change, likelier, KNOWN_LIKELIER if known else LIKELIER):
        return None
    if _is_moved(change):
        least = CLEARLY_LIKELIER_GAIN if likelier is not None and likelier >= CLEARLY_LIKELIER else LEAST_GAIN
        return replace(change, confidence=MOVED_CONFIDENCE) if _gain(ground, attempt, answers) >= least else None
    change = supported(change, *answers)
    if not right and (is_guessed(change) or _is_name(ground.script.lines[attempt.line], change)):
        return None
    apart = wording.sounds_apart(change.script, change.heard)
    if likelier is not None and likelier >= CLEARLY_LIKELIER and probability >= SURELY_HEARD and apart > LEAST_APART:
        return replace(change, confidence=MOVED_CONFIDENCE)
    if apart < LEAST_APART and (likelier is None or not known or change.support < NEAR_SUPPORT):
        return None
    found = evidence(change, probability, right, same)
    if likelier is not None and apart > LEAST_APART and not same:
        found += LIKELIHOOD_WORTH * (likelier - LIKELIER)
    if found < LEAST_EVIDENCE or change.support < LEAST_SUPPORT:
        return None
    return replace(change, confidence=min(0.95, 0.6 + found / 60))


def _is_moved(change: Change) -> bool:
    """Whether words were but left out, put in or swapped."""
    script, heard = Counter(change.script), Counter(change.heard)
    return script <= heard or heard <= script


def _gain(ground: Ground, attempt: Attempt, answers: tuple[Alignment, Alignment]) -> float:
    """How much better the attempt's sound fits the second row of words than the first, summed over frames; without end
    where it takes the second alone."""
    before, after = (ground.fit(attempt.span, answer) for answer in answers)
    return after - before if math.isfinite(after) else 0.0
