"""Where a reading's words differ from the script's, and whether the sound takes the heard side."""

from __future__ import annotations

import math
import re
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from difflib import SequenceMatcher

from lessoncut import wording
from lessoncut.hearing.records import Alignment, AlignmentRequest, HeardWord
from lessoncut.matching.attempts import Attempt
from lessoncut.matching.fillers import FILLERS
from lessoncut.matching.ground import Ground, said
from lessoncut.matching.lay import Candidate
from lessoncut.matching.records import Change
from lessoncut.phrasing import is_function_word
from lessoncut.script.records import Line
from lessoncut.wording import Token

LEAST_EVIDENCE = 12.5
"""In log score a frame: of the sound, with all else that speaks for a change turned into it."""
LEAST_SUPPORT = 5.0
"""Of the sound by itself."""
SAME_WORD = 0.8
"""Likeness from which two spellings are taken for one word."""
MOST_CHANGED_WORDS, MOST_MOVED = 2, 3
MOST_ALIKE = 0.6
"""Likeness up to which two rows of words are clearly not one, misspelt."""
LEAST_APART = 2
"""Sounds."""
LEAST_LETTERS = 3
"""Of a part of a word."""
LEAST_HEARD, WELL_HEARD, SURELY_HEARD = 0.25, 0.6, 0.9
"""The recogniser's probability: with less a word is not believed at all; so much it takes for the sound not to be
asked, or where it would judge by a pronunciation that is but guessed; with more it speaks for a change."""
SHORT_WORD, LEAST_SMALL_MS, WELL_HEARD_SMALL, SMALL_WORDS_COST = 2, 140, 0.8, 12.5
"""Recognisers lose, exchange and run together function words, and hear words of so few sounds in others. Such changes,
and those of two words, must last so long for the sound to judge, be as surely heard, and have so much more evidence."""
SOUND_WORTH, PROBABILITY_WORTH = 3.0, 30.0
"""What another sound apart, and all the probability there is, are worth as evidence."""
ELSEWHERE_RIGHT, ELSEWHERE_SAME = 4.0, 18.0
"""What it is worth that the line's other readings were heard as the script; or just as this one, as words are that the
recogniser cannot tell apart in this voice."""
LEAST_RIGHT, LEAST_RIGHT_SHARE = 2, 0.5
"""So many of a line's words, and so much of it, must have been heard as they stand for another to be misread."""
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
_NO_PATH = -200.0
_GOES_ON = re.compile(r"[\w,;)’'-]\s*$")
"""Behind this no sentence begins."""
VOWELS = frozenset("aeiouy")
_CLOCK = re.compile(r"([01]\d|2[0-3])([0-5]\d)[.,?!]?")


def differences(
    line: Line, heard: Sequence[HeardWord], least_sure: float = LEAST_HEARD, least_apart: int = LEAST_APART
) -> tuple[tuple[Change, float], ...]:
    """Short replacements of the line's words by clearly other words, and how probable the heard ones are; a word or two
    that were left out, put in or swapped are a replacement together with the word beside them. Surely heard words may
    be but ``least_apart`` sounds from the script's.

    Another way of saying the same number or date is none. Small words left out or put in are not among the changes, nor
    words of which the recogniser was not ``least_sure``: it loses and invents these too often.
    """
    script = line.spoken
    spoken = [(text, word.probability) for word in heard for text in _said_as(script, word)]
    texts = [text for text, _ in spoken]
    named = _heard_as_script(script, texts)
    found = [
        (change, sure)
        for change, sure in _moved(script, named, [sure for _, sure in spoken])
        if not _meets_ways(line, change)
    ]
    for first, upto, heard_first, heard_upto in _replaced(script, named):
        change = Change(first, upto - 1, tuple(script[first:upto]), tuple(texts[heard_first:heard_upto]))
        probability = min(sure for _, sure in spoken[heard_first:heard_upto])
        sure = probability >= _asked_for(change, least_sure)
        apart = _are_apart(change) or (probability >= SURELY_HEARD and _are_two_words(change, least_apart))
        lost = _is_part(change) or _takes_over(script, change)
        if sure and apart and not (lost or _is_another_way(line, change)):
            found.append((change, probability))
    return tuple(found)


def _said_as(script: Sequence[str], word: HeardWord) -> tuple[str, ...]:
    """The spoken words of a heard one; of four figures, the hours and minutes where the script has more of these."""
    plain = said([word])
    if not (figures := _CLOCK.fullmatch(word.text)):
        return plain
    as_time = wording.spoken(":".join(figures.groups()))
    return max(plain, as_time, key=lambda texts: len(set(texts).intersection(script)) / len(texts))


def _replaced(script: Sequence[str], heard: Sequence[str]) -> Iterator[tuple[int, int, int, int]]:
    """From where to where in the script, and in what was heard, few words stand in the place of others; of as many
    words, each in the place of one."""
    for tag, first, upto, heard_first, heard_upto in SequenceMatcher(None, script, heard, autojunk=False).get_opcodes():
        if tag != "replace" or max(upto - first, heard_upto - heard_first) > MOST_CHANGED_WORDS:
            continue
        alike = wording.row_likeness(script[first:upto], heard[heard_first:heard_upto]) > MOST_ALIKE
        if upto - first == heard_upto - heard_first and not alike:
            yield from (
                (first + at, first + at + 1, heard_first + at, heard_first + at + 1) for at in range(upto - first)
            )
        else:
            yield first, upto, heard_first, heard_upto


def _moved(script: Sequence[str], heard: Sequence[str], sure: Sequence[float]) -> Iterator[tuple[Change, float]]:
    """Words that were left out, put in or swapped between two that were heard, and how surely these were."""
    parts = SequenceMatcher(None, script, heard, autojunk=False).get_opcodes()
    at = 0
    while at < len(parts):
        tag, first, upto, heard_first, heard_upto = parts[at]
        if _is_swap(parts[at : at + 3]):
            _, _, upto, _, heard_upto = parts[at + 2]
            words, least, at = script[first:upto], min(sure[heard_first:heard_upto]), at + 2
        elif tag in ("delete", "insert") and heard_first > 0 and heard_upto < len(heard) and upto < len(script):
            words = script[first:upto] if tag == "delete" else heard[heard_first:heard_upto]
            least = min(sure[heard_first - 1 : heard_upto + 1])
            upto, heard_upto = upto + 1, heard_upto + 1  # with the word behind
        else:
            words, least = (), 0.0
        at += 1
        if least >= WELL_HEARD and _are_telling(words):
            yield Change(first, upto - 1, tuple(script[first:upto]), tuple(heard[heard_first:heard_upto])), least


def _is_swap(parts: Sequence[tuple[str, int, int, int, int]]) -> bool:
    """Whether what is put in before a word or two is left out behind them."""
    tags = {part[0] for part in parts[::2]}
    if len(parts) < 3 or tags != {"insert", "delete"} or parts[1][0] != "equal":
        return False
    return parts[1][2] - parts[1][1] <= MOST_CHANGED_WORDS


def _are_telling(words: Sequence[str]) -> bool:
    """Whether they are few, and one of them is no small word; numbers may be said in many ways."""
    few = len(words) <= MOST_MOVED and not any(wording.is_number(word) for word in words if word != "and")
    return few and any(_matters((word,)) for word in words)


def _asked_for(change: Change, least_sure: float) -> float:
    if not _matters(change.script):
        return WELL_HEARD_SMALL
    return max(least_sure, WELL_HEARD) if _is_guessed(change) else least_sure


def _is_another_way(line: Line, change: Change) -> bool:
    """Whether what was heard for a number, a date, a unit or a short form says the same, or, for a number, is none at
    all: then it is a way of saying it that is not known here."""
    if len(change.script) == len(change.heard) == 1 and _is_short_for(change.script[0], change.heard[0]):
        return True
    for first, upto, ways in _met_ways(line, change):
        known = {(*line.spoken[:first], *way, *line.spoken[upto:]) for way in ways}
        return change.in_line(line.spoken) in known or not all(map(wording.is_number, change.heard))
    return False


def _meets_ways(line: Line, change: Change) -> bool:
    """Whether the change is in or beside what may be said in several ways, with a word more or less."""
    return next(_met_ways(line, change), None) is not None


def _met_ways(line: Line, change: Change) -> Iterator[tuple[int, int, Sequence[tuple[str, ...]]]]:
    """Of the tokens in the change that may be said in other ways: their first word, the one behind, and the ways."""
    return ((first, upto, token.ways) for first, upto, token in _met_tokens(line, change) if token.ways)


def _met_tokens(line: Line, change: Change) -> Iterator[tuple[int, int, Token]]:
    """The tokens in the change: their first word, and the one behind."""
    upto = 0
    for token in line.tokens:
        first, upto = upto, upto + len(token.spoken)
        if first <= change.last and change.first < upto:
            yield first, upto, token


def _is_short_for(written: str, heard: str) -> bool:
    """Whether what is no word, or has no vowel, has the other's letters in their order, as a short form has: "qty" for
    "quantity", "s" for "seconds"."""
    left = iter(heard)
    longer = written[:1] == heard[:1] and len(written) + 1 < len(heard)
    no_word = not wording.in_dictionary(written) or VOWELS.isdisjoint(written)
    return longer and no_word and all(letter in left for letter in written)


def _are_apart(change: Change) -> bool:
    apart = wording.sounds_apart(change.script, change.heard)
    return apart >= LEAST_APART and wording.row_likeness(change.script, change.heard) <= MOST_ALIKE


def _is_part(change: Change) -> bool:
    """Whether it is the beginning or the end of the script's word that was heard: recognisers lose the rest."""
    if len(change.script) > 1 or len(change.heard) > 1:
        return False
    word, heard = change.script[0], change.heard[0]
    return len(heard) >= LEAST_LETTERS and (word.startswith(heard) or word.endswith(heard))


def _takes_over(script: Sequence[str], change: Change) -> bool:
    """Whether the word heard begins in the end of the word before and goes on as the script's, give or take a sound:
    "and eat" heard as "and need"."""
    one_each = len(change.script) == len(change.heard) == 1
    return one_each and change.first > 0 and wording.takes_over(script[change.first - 1], *change.script, *change.heard)


def _are_two_words(change: Change, least_apart: int) -> bool:
    """Whether both are words of their own, though spelt alike: "Tuesday" and "Thursday"."""
    one_each = len(change.script) == len(change.heard) == 1
    known = all(map(wording.in_dictionary, (*change.script, *change.heard)))
    return one_each and known and wording.sounds_apart(change.script, change.heard) >= least_apart


def _matters(words: Sequence[str]) -> bool:
    """Whether it is one word that recognisers do not lose or exchange; of "isn't" they lose the end."""
    return len(words) == 1 and not (is_function_word(words[0]) or words[0].endswith("n't"))


def _is_word_for_word(change: Change) -> bool:
    return _matters(change.script) and len(change.heard) == 1 and wording.sound_count(change.heard) > SHORT_WORD


def misread_too(ground: Ground, looks: Sequence[Candidate], heard: Sequence[HeardWord]) -> list[Candidate]:
    """Those looks at a whole line in which one part of it was clearly heard as other words, with those in its place."""
    of_line = {line: _misread(ground, line, heard) for line in {look.line for look in looks if ground.is_full(look)}}
    return [
        replace(look, misread=change)
        for look in looks
        if ground.is_full(look) and (change := of_line[look.line]) is not None
    ]


def _misread(ground: Ground, line: int, heard: Sequence[HeardWord]) -> Change | None:
    script = ground.spoken_words[line]
    right = len(set(_heard_as_script(script, said(heard))).intersection(script))
    changes = differences(ground.script.lines[line], heard, WELL_HEARD)
    change = _foremost([change for change, _ in changes])
    if change is None or right < max(LEAST_RIGHT, LEAST_RIGHT_SHARE * len(script)):
        return None
    before, end = heard[: -len(change.heard)], heard[-len(change.heard) :]
    if change.last + 1 == len(script) and before and ground.apart(before[-1], end[0]):
        return None  # the line broke off, and something else was said
    return None if change.in_line(script) in ground.spoken_words else change


def _foremost(changes: Sequence[Change]) -> Change | None:
    """The one that is a misreading while the others may be mishearings; None where there are more such, or none."""
    far = [change for change in changes if wording.sounds_apart(change.script, change.heard) > LEAST_APART]
    return far[0] if len(far) == 1 else changes[0] if len(changes) == 1 else None


def _heard_as_script(script: Sequence[str], heard: Sequence[str]) -> list[str]:
    """Each heard word in the script's spelling where the script has one like it."""
    if not script or not heard:
        return list(heard)
    table = wording.likeness_table(heard, script)
    nearest = table.argmax(axis=1)
    return [script[nearest[at]] if table[at, nearest[at]] >= SAME_WORD else word for at, word in enumerate(heard)]


def supported(change: Change, as_script: Alignment, as_heard: Alignment) -> Change:
    """The change with the sound's word on it: the score of the changed stretch, heard minus script."""
    script, heard = as_script.words[change.first : change.last + 1], as_heard.words[change.first :][: len(change.heard)]
    longer_ms = max(sum(word.span.length_ms for word in words) for words in (script, heard))
    if not _is_word_for_word(change) and longer_ms < LEAST_SMALL_MS:
        return change
    heard_side = _mean_score(as_heard, change.first, change.first + len(change.heard))
    return replace(change, support=heard_side - _mean_score(as_script, change.first, change.last + 1))


def _mean_score(alignment: Alignment, first: int, upto: int) -> float:
    words = alignment.words[first:upto]
    length_ms = sum(word.span.length_ms for word in words)
    if not length_ms:
        return _NO_PATH
    return sum(word.score * word.span.length_ms for word in words) / length_ms


def _is_guessed(change: Change) -> bool:
    """Whether the script's word is in no dictionary, a name perhaps: nobody can tell how she says it, unless another
    reading was heard so."""
    return not all(map(wording.in_dictionary, change.script))


def _is_name(line: Line, change: Change) -> bool:
    """Whether the script has a capital there that no sentence asks for, nor a month or a day: recognisers make other
    words of names, each time anew."""
    names = (token for *_, token in _met_tokens(line, change) if token.text[:1].isupper())
    token = next(names, None)
    if token is None or wording.is_of_calendar(token.text):
        return False
    return _GOES_ON.search(line.text[: token.start]) is not None


def evidence(change: Change, probability: float, elsewhere_right: int, elsewhere_same: int) -> float:
    """All that speaks for the change, in log score a frame.

    Little is known but of one word for another.
    ``elsewhere_right`` of the line's other readings were heard as the script there, ``elsewhere_same`` as this one.
    """
    if not _is_word_for_word(change):
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
    """How much likelier than as it stands the recogniser finds the attempt's line with each change; None where nobody
    can tell."""
    texts = {
        (at, change): _as_script_and_heard(ground.script.lines[attempts[at].line], change)
        for at, of_it in changes.items()
        for change in of_it
    }
    rows: dict[int, dict[str, None]] = defaultdict(dict)
    for (at, _), both in texts.items():
        rows[at].update(dict.fromkeys(both))
    answers = ground.weigh([ground.wordings(attempts[at].span, *row) for at, row in rows.items()])
    logs = {
        at: dict(zip(row, answer.logs, strict=False)) for (at, row), answer in zip(rows.items(), answers, strict=True)
    }
    return {
        (at, change): logs[at][as_heard] - logs[at][as_script] if logs[at] else None  # nobody could tell
        for (at, change), (as_script, as_heard) in texts.items()
    }


def _as_script_and_heard(line: Line, change: Change) -> tuple[str, str]:
    """The line as it is written, and with what was heard in it. A number in figures is spelt out in both:
    recognisers write figures, and would find any other writing unlikely."""
    met = list(_met_tokens(line, change))
    (first, _, token), (_, upto, last) = met[0], met[-1]
    spoken = line.spoken
    heard = (*spoken[first : change.first], *change.heard, *spoken[change.last + 1 : upto])
    before, behind = line.text[: token.start], line.text[last.end :]
    figures = all(map(wording.is_number, change.script)) and not token.text.isalpha()
    as_script = " ".join(spoken[first:upto]) if figures else line.text[token.start : last.end]
    return f"{before}{as_script}{behind}", f"{before}{' '.join(heard)}{behind}"


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
        gained = _gain(ground, attempt, answers)
        return replace(change, confidence=MOVED_CONFIDENCE) if gained >= LEAST_GAIN else None
    change = supported(change, *answers)
    if not right and (_is_guessed(change) or _is_name(ground.script.lines[attempt.line], change)):
        return None
    apart = wording.sounds_apart(change.script, change.heard)
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
