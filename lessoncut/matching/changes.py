"""Which of the differences in a reading's words were read: what the sound says, and how likely the recogniser finds
them."""

from __future__ import annotations

import math
import re
from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import replace

from lessoncut import wording
from lessoncut.hearing.records import Alignment, AlignmentRequest
from lessoncut.matching.attempts import Attempt
from lessoncut.matching.chances import likelier_with
from lessoncut.matching.differences import (
    LEAST_APART,
    SURELY_HEARD,
    are_telling,
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
ELSEWHERE_RIGHT, ELSEWHERE_SAME = 4.0, 25.0
"""What it is worth that the line's other readings were heard as the script; or as many as this one, as words are that
the recogniser cannot tell apart in this voice."""
LEAST_GAIN, CLEAR_CONFIDENCE = 1000.0, 0.85
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
CLEARLY_LIKELIER = 12.0
"""So much likelier the words were said, if they were heard surely and have clearly other sounds, however they lie on
the sound."""
MOVED_CLEARLY_LIKELIER, LEAST_GAIN_OF_LIKELY = 7.5, 600.0
"""So much likelier words are left out, put in or swapped where the sound need fit but so much better; small ones must
be, since recognisers lose and invent them."""
SURELY_KNOWN = 0.95
"""Of another word where the script's was heard in another reading, and never this one: hardly any is a mishearing."""
LEAST_SUPPORT_OF_KNOWN = -1.0
FAR_SUPPORT, FAR_LIKELIER = 40.0, 10.0
"""From where on even what was heard for a name was said, and a word that is but one sound from the script's."""
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

    Little more than the sound is known but of one word for another.
    ``elsewhere_right`` of the line's other readings were heard as the script there, ``elsewhere_same`` as this one.
    """
    found = change.support - (ELSEWHERE_SAME if elsewhere_same >= max(1, elsewhere_right) else 0.0)
    if not is_word_for_word(change):
        return found - SMALL_WORDS_COST
    found += PROBABILITY_WORTH * (probability - SURELY_HEARD)
    found += SOUND_WORTH * (wording.sounds_apart(change.script, change.heard) - LEAST_APART)
    return found + ELSEWHERE_RIGHT if elsewhere_right and not elsewhere_same else found


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
    likelier = likelier_with(ground, attempts, told)
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
    sound, and as it was heard; ``others``: words of the other readings; ``likelier``: see ``likelier_with``."""
    change, probability = difference
    right, same = (sum(words.issuperset(side) for words in others) for side in (change.script, change.heard))
    known = right > 0 and not same
    if not _is_likelier(change, likelier, KNOWN_LIKELIER if known else LIKELIER):
        return None
    if _is_moved(change):
        fits = _fits(ground, attempt, change, answers, likelier)
        return replace(change, confidence=CLEAR_CONFIDENCE) if fits else None
    change = supported(change, *answers)
    named = is_guessed(change) or _is_name(ground.script.lines[attempt.line], change)
    if named and not (right or _is_far(change, likelier)):
        return None
    confidence = _confidence(change, probability, right, same, likelier)
    return replace(change, confidence=confidence) if confidence else None


def _is_far(change: Change, likelier: float | None) -> bool:
    """Whether sound and recogniser speak so much for it that nothing else need be known."""
    return _by_at_least(likelier, FAR_LIKELIER) and change.support >= FAR_SUPPORT


def _by_at_least(likelier: float | None, least: float) -> bool:
    return likelier is not None and likelier >= least


def _fits(
    ground: Ground, attempt: Attempt, change: Change, answers: tuple[Alignment, Alignment], likelier: float | None
) -> bool:
    """Whether the sound fits so much better with the words left out, put in or swapped."""
    clearly = _by_at_least(likelier, MOVED_CLEARLY_LIKELIER)
    telling = are_telling(_moved_words(change))
    return (clearly or telling) and _gain(ground, attempt, answers) >= (LEAST_GAIN_OF_LIKELY if clearly else LEAST_GAIN)


def _confidence(change: Change, probability: float, right: int, same: int, likelier: float | None) -> float:
    """How sure it is that words stood for others, by all that speaks for it; 0 where that is too little."""
    known = right > 0 and not same
    apart = wording.sounds_apart(change.script, change.heard)
    clear = probability >= SURELY_HEARD and apart > LEAST_APART and _by_at_least(likelier, CLEARLY_LIKELIER)
    another = known and likelier is not None and probability >= SURELY_KNOWN and _is_surely_another(change)
    if clear or another:
        return CLEAR_CONFIDENCE
    far = _is_far(change, likelier)
    too_near = apart < LEAST_APART and not far and (likelier is None or not known or change.support < NEAR_SUPPORT)
    found = evidence(change, probability, right, same)
    if likelier is not None and apart > LEAST_APART and not same:
        found += LIKELIHOOD_WORTH * (likelier - LIKELIER)
    too_little = found < LEAST_EVIDENCE or change.support < LEAST_SUPPORT
    return 0.0 if too_near or too_little else min(0.95, 0.6 + found / 60)


def _is_surely_another(change: Change) -> bool:
    """Whether it is one word for one, not both of them small but for a "not", and the sound does not gainsay it."""
    both = (*change.script, *change.heard)
    says_not = any(word.endswith("n't") for word in both)
    return len(both) == 2 and (are_telling(both) or says_not) and change.support >= LEAST_SUPPORT_OF_KNOWN


def _moved_words(change: Change) -> list[str]:
    """Those left out, or put in; of words that were swapped, all."""
    script, heard = Counter(change.script), Counter(change.heard)
    return list(((script - heard) or (heard - script) or script).elements())


def _is_moved(change: Change) -> bool:
    """Whether words were but left out, put in or swapped."""
    script, heard = Counter(change.script), Counter(change.heard)
    return script <= heard or heard <= script


def _gain(ground: Ground, attempt: Attempt, answers: tuple[Alignment, Alignment]) -> float:
    """How much better the attempt's sound fits the second row of words than the first, summed over frames; without end
    where it takes the second alone."""
    before, after = (ground.fit(attempt.span, answer) for answer in answers)
    return after - before if math.isfinite(after) else 0.0
