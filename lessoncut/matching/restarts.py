"""Words said twice in a row: "Did you, did you read it?" is a start that runs into its line without a pause, "Did you
read, read it?" a stumble inside the line.

A recogniser may give such words but once, and no pause tells of the break. But then the words last too long, or leave
speech between them; and the sound is borne out better by the line with those words said twice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from lessoncut import wording
from lessoncut.hearing.records import Alignment
from lessoncut.matching.attempts import Attempt
from lessoncut.matching.chances import likelier_with
from lessoncut.matching.fillers import fills_a_pause
from lessoncut.matching.fit import FRAME_MS, fit
from lessoncut.matching.ground import Ground, said
from lessoncut.matching.lay import Candidate
from lessoncut.matching.lines import CLEAR_COST, laid
from lessoncut.matching.records import Change
from lessoncut.times import Span

FEW_WORDS, MOST_WORDS = 3, 4
"""So many of a line's words are looked at for a start, first and at most."""
TOO_LONG, LONGER_MS = 1.35, 200
"""Of the time that words take, and beyond it: less is no room for words said twice."""
TOGETHER = 2
FAR_TOO_LONG, FAR_LONGER_MS = 1.6, 550
"""The same for so many words anywhere in the line: a comma, or a word drawn out, is shorter."""
LONGER_THAN_OTHERS_MS = 100
"""By so much must words last longer than in the line's other readings: she hardly stumbles over them each time."""
LEAST_GAIN, LEAST_GAIN_INSIDE = 1000.0, 600.0
"""How much better a line's first words fit said twice, summed over frames; and other words. Words that were said but
once mostly lose by it."""
LEAST_BETTER, FAR_BETTER = 300.0, 1000.0
"""The same between a line that goes on from a later word and one begun anew: where its first word was not heard again;
and where no pause tells, since small first words are hardly said."""
LEAST_BEFORE_MS, MOST_BEFORE_MS = 150, 1000
LEAST_GAIN_BEFORE = 800.0
"""So much sound before a line, in one breath with it and said by no other words, may be a start of it; and how much
better all of it must fit then."""
MOST_LOWER = 25.0
"""How far below the usual score a word of a stumble may lie."""
UNSAID_MS = 150
"""Where first words that were not said take so long, the line was not begun anew; small ones hardly take any time."""
STUMBLE_MS = 1500
"""A line that goes on after a longer pause is no stumble any more."""
FIRST_WORDS, LIKE = 3, 0.5
"""A line is begun anew where so many of its first words were heard, so nearly."""
MOST_UNLIKELY = 10.0
"""How much less likely a line may be with words said twice, in natural logarithms: those that were not are so by 11 and
more."""
CONFIDENCE = 0.85


@dataclass(frozen=True)
class _Twice:
    """The line with its words ``[first, upto)`` said twice, the one that ``at`` stands for; on more sound than its own
    where ``stretch`` says so."""

    at: int
    first: int
    upto: int
    stretch: Span | None = None

    def change(self, words: Sequence[str]) -> Change:
        twice = tuple(words[self.first : self.upto])
        return Change(self.first, self.upto - 1, twice, twice * 2, confidence=CONFIDENCE)


@dataclass(frozen=True)
class _Answer:
    """What is gained by saying the words twice, and how they lie then."""

    look: _Twice
    gained: float
    twice: Alignment


@dataclass(frozen=True)
class _Pace:
    """How long a full attempt's words last, beside the time that they take at her pace, and in the line's other full
    attempts: where those are as slow, she reads the line so."""

    ground: Ground
    attempt: Attempt
    others: tuple[Attempt, ...]

    def is_too_long(self, count: int) -> bool:
        """Whether the first ``count`` words last too long."""
        expected_ms = self.ground.expected_ms(self.attempt.line, count)
        speech_ms = self.ground.speech_ms(Span(self.attempt.span.start_ms, self.attempt.words[count].span.start_ms))
        return speech_ms >= max(TOO_LONG * expected_ms, expected_ms + LONGER_MS) and self._is_only_here(0, count)

    def is_slow(self, first: int, upto: int) -> bool:
        """Whether the words ``[first, upto)`` last far too long."""
        expected_ms = self._expected_ms(first, upto)
        slow_ms = max(FAR_TOO_LONG * expected_ms, expected_ms + FAR_LONGER_MS)
        return self._speech_ms(self.attempt, first, upto) >= slow_ms and self._is_only_here(first, upto)

    def longer_ms(self, first: int, upto: int) -> float:
        """By how much the words last longer than at her pace."""
        return self._speech_ms(self.attempt, first, upto) - self._expected_ms(first, upto)

    def _is_only_here(self, first: int, upto: int) -> bool:
        least_ms = self._speech_ms(self.attempt, first, upto) - LONGER_THAN_OTHERS_MS
        return all(self._speech_ms(other, first, upto) <= least_ms for other in self.others)

    def _expected_ms(self, first: int, upto: int) -> float:
        return self.ground.syllable_ms * sum(self.ground.syllables[self.attempt.line][first:upto])

    def _speech_ms(self, attempt: Attempt, first: int, upto: int) -> int:
        return self.ground.speech_ms(Span(attempt.words[first].span.start_ms, attempt.words[upto].span.start_ms))


def with_restarts(ground: Ground, attempts: Sequence[Attempt]) -> list[Attempt]:
    """The attempts, a full line with words said twice without a pause being a start and the line, or a line with a
    stumble in it."""
    looks = [look for at in range(len(attempts)) for look in _first_look(ground, attempts, at)]
    answers = _answers(ground, attempts, looks)
    for least, more in ((0.0, _begun_anew), (LEAST_GAIN, _gone_on_with)):
        promising = sorted({answer.look.at for answer in answers if answer.gained > least})
        asked = {answer.look for answer in answers}
        looks = [look for at in promising for look in more(at, attempts[at]) if look not in asked]
        answers += _answers(ground, attempts, looks)
    found: list[Attempt] = []
    for at, attempt in enumerate(attempts):
        found += _as_said(ground, attempt, [answer for answer in answers if answer.look.at == at])
    return found


def _as_said(ground: Ground, attempt: Attempt, answers: Sequence[_Answer]) -> list[Attempt]:
    """The attempt as the best of the answers has it, or as it is."""
    anew = _best([answer for answer in answers if not answer.look.first], LEAST_GAIN)
    better = FAR_BETTER if anew and _unsaid_ms(ground, anew) < UNSAID_MS else 0.0
    least_inside = max(LEAST_GAIN_INSIDE, anew.gained + better if anew else 0.0)
    inside = _best([answer for answer in answers if answer.look.first], least_inside)
    if inside and _lies_well(ground, inside) and _may_be_likely(ground, attempt, inside):
        return [_stumbling(ground, attempt, inside, inside.gained)]
    return _parted(ground, attempt, anew) if anew else [attempt]


def _best(answers: Sequence[_Answer], least: float) -> _Answer | None:
    best = max(answers, key=lambda answer: answer.gained, default=None)
    return best if best and best.gained >= least else None


def _lies_well(ground: Ground, answer: _Answer) -> bool:
    """Whether the words said twice, and those on either side, were all said: where one was not, as with a number said
    in a way not known, its neighbours are moved to fill its place."""
    first, upto = answer.look.first, answer.look.upto
    around = answer.twice.words[first - 1 : 2 * upto - first + 1]
    return all(word.score >= ground.usual_score - MOST_LOWER for word in around)


def _may_be_likely(ground: Ground, attempt: Attempt, answer: _Answer) -> bool:
    """Whether the recogniser, too, may find the words said twice; though it leaves such out by itself."""
    change = answer.look.change(ground.spoken_words[attempt.line])
    by = likelier_with(ground, [attempt], {0: [change]})[0, change]
    return by is None or by >= -MOST_UNLIKELY


def _unsaid_ms(ground: Ground, answer: _Answer) -> int:
    """How long those of the line's first words last, said anew, that lie as badly as words that were not said."""
    again = answer.twice.words[answer.look.upto : 2 * answer.look.upto]
    return sum(word.span.length_ms for word in again if word.score < ground.usual_score - MOST_LOWER)


def with_starts_before(ground: Ground, attempts: Sequence[Attempt]) -> list[Attempt]:
    """The attempts in time order, a full line whose breath begins before it with its first words being a start and the
    line."""
    wider = {at: wide for at in range(len(attempts)) if (wide := _with_sound_before(ground, attempts, at))}
    looks = [replace(look, stretch=wide) for at, wide in wider.items() for look in _begun_anew(at, attempts[at])]
    answers = _answers(ground, attempts, looks)
    found: list[Attempt] = []
    for at, attempt in enumerate(attempts):
        best = _best([answer for answer in answers if answer.look.at == at], LEAST_GAIN_BEFORE)
        found += _parted(ground, attempt, best) if best else [attempt]
    return found


def _with_sound_before(ground: Ground, attempts: Sequence[Attempt], at: int) -> Span | None:
    """A full line's sound with that before it, where there is some that no other attempt says."""
    attempt = attempts[at]
    speech = ground.speech(Span(attempt.span.start_ms, attempt.span.start_ms + 1))
    if not (attempt.full and attempt.laid and speech):
        return None
    earlier = attempts[at - 1] if at else None
    begins_ms = max(speech[0].start_ms, earlier.span.end_ms if earlier else 0)
    if earlier and not earlier.full and earlier.span.end_ms == begins_ms:
        return None  # what follows a start in one breath is more of it
    wide = Span(min(begins_ms, attempt.span.start_ms), attempt.span.end_ms)
    before = Span(wide.start_ms, attempt.words[0].span.middle_ms)
    long_enough = LEAST_BEFORE_MS <= attempt.span.start_ms - wide.start_ms <= MOST_BEFORE_MS
    return wide if long_enough and not ground.holes(before) else None


def with_stumbles(ground: Ground, attempts: Sequence[Attempt]) -> list[Attempt]:
    """The attempts, a start and the line that goes on from a later word than its first being one reading of it."""
    found: list[Attempt] = []
    for attempt in attempts:
        start = found[-1] if found else None
        whole = _gone_on(ground, start, attempt) if start else None
        if whole:
            found[-1] = whole
        else:
            found.append(attempt)
    return found


def _gone_on(ground: Ground, start: Attempt, line: Attempt) -> Attempt | None:
    """Both as one reading; None where the line was begun anew, or is another."""
    if not start.is_start_of(line) or start.span.gap_to_ms(line.span) >= STUMBLE_MS:
        return None
    heard = said(line.heard)
    if not (line.laid and heard) or _first_words_heard(heard, line.texts):
        return None
    whole = replace(line, words=(*start.words, *line.words), heard=(*start.heard, *line.heard))
    anew, *later = _answers(ground, [whole], [_Twice(0, first, start.upto) for first in range(start.upto)])
    best = _best(later, anew.gained + LEAST_BETTER)
    if best is None or not best.twice.words:
        return None
    better = best.gained - anew.gained if anew.twice.words else best.gained
    return replace(_stumbling(ground, whole, best, better), doubt=min(start.doubt, line.doubt))


def _first_words_heard(heard: Sequence[str], line: Sequence[str]) -> bool:
    """Whether the line's first word was heard, or nearly, and the few after it."""
    few = wording.row_likeness(heard[:FIRST_WORDS], line[:FIRST_WORDS])
    return min(wording.likeness(heard[0], line[0]), few) >= LIKE


def _first_look(ground: Ground, attempts: Sequence[Attempt], at: int) -> list[_Twice]:
    """One word, and so many that all starts of a few words gain by it; and what was heard twice."""
    attempt = attempts[at]
    if not (attempt.full and attempt.laid):
        return []
    if fills_a_pause(attempt):  # which explains why it lasts too long
        return _heard_twice(ground, at, attempt)
    others = [other for other in attempts if other.line == attempt.line and other.full and other.laid]
    pace = _Pace(ground, attempt, tuple(other for other in others if other is not attempt))
    few = dict.fromkeys((counts[0], min(FEW_WORDS, counts[-1]))) if (counts := _suspected(pace)) else ()
    looks = [*(_Twice(at, 0, count) for count in few), *_heard_twice(ground, at, attempt)]
    return list(dict.fromkeys([*looks, *_slow_inside(pace, at)]))


def _begun_anew(at: int, attempt: Attempt) -> list[_Twice]:
    """The line begun anew after each of its first words."""
    return [_Twice(at, 0, upto) for upto in range(1, min(MOST_WORDS, len(attempt.words) - 1) + 1)]


def _gone_on_with(at: int, attempt: Attempt) -> list[_Twice]:
    """The line gone on with from each of its first words but the first."""
    last = min(MOST_WORDS + 1, len(attempt.words) - 1)
    return [_Twice(at, first, upto) for upto in range(2, last + 1) for first in range(1, upto)]


def _slow_inside(pace: _Pace, at: int) -> list[_Twice]:
    """The words around the place where the line lasts far too long, any few of them said twice."""
    last = len(pace.attempt.words) - 1
    parts = [(first, upto) for first in range(last) for upto in range(first + 1, min(first + TOGETHER, last) + 1)]
    slow = [(pace.longer_ms(first, upto), first, upto) for first, upto in parts if pace.is_slow(first, upto)]
    if not slow:
        return []
    _, first, upto = max(slow)
    ends = range(first + 1, min(upto + 1, last + 1) + 1)
    return [_Twice(at, begin, end) for end in ends for begin in range(max(0, end - FEW_WORDS), end)]


def _heard_twice(ground: Ground, at: int, attempt: Attempt) -> list[_Twice]:
    """Words of the line that were heard twice in a row, and are not written so."""
    heard, line = said(attempt.heard), ground.spoken_words[attempt.line]
    found = []
    for length in range(1, MOST_WORDS + 1):
        for first in range(len(line) - length + 1):
            row = line[first : first + length]
            if _stands_in((*row, *row), heard) and not _stands_in((*row, *row), line):
                found.append(_Twice(at, first, first + length))
    return found


def _stands_in(row: Sequence[str], words: Sequence[str]) -> bool:
    return any(tuple(words[at : at + len(row)]) == tuple(row) for at in range(len(words) - len(row) + 1))


def _answers(ground: Ground, attempts: Sequence[Attempt], looks: Sequence[_Twice]) -> list[_Answer]:
    asked = []
    for look in looks:
        attempt = attempts[look.at]
        words = ground.spoken_words[attempt.line]
        stretch = look.stretch or attempt.span
        asked.append(ground.request(attempt.line, look.change(words).in_line(words), stretch))
    laid_twice = ground.align(asked) if asked else ()
    return [
        _Answer(look, gain(ground, attempts[look.at], twice, look.stretch), twice)
        for look, twice in zip(looks, laid_twice, strict=True)
    ]


def _suspected(pace: _Pace) -> range:
    """How many first words of the attempt may have been said twice: none, or any number up to four.

    They may where the speech up to the word after them lasts too long for them.
    """
    upto = min(MOST_WORDS, len(pace.attempt.words) - 1)
    return range(1, upto + 1) if any(pace.is_too_long(count) for count in range(1, upto + 1)) else range(0)


def gain(ground: Ground, attempt: Attempt, twice: Alignment, stretch: Span | None = None) -> float:
    """How much better the sound of the attempt, or a wider stretch, fits the words with some said twice, summed over
    frames."""
    whole = stretch or attempt.span
    if not twice.words:
        return float("-inf")
    once = [(word.span, attempt.score) for word in attempt.words]
    return ground.fit(whole, twice) - fit(whole, once, ground.speech_ms)


def _parted(ground: Ground, attempt: Attempt, answer: _Answer) -> list[Attempt]:
    """The start, of the words said twice, and the whole line behind it."""
    doubt, twice, count = min(attempt.doubt, CLEAR_COST), answer.twice, answer.look.upto
    start, line = (
        laid(ground, Candidate(attempt.line, len(words), attempt.span), replace(twice, words=words), None, doubt)
        for words in (twice.words[:count], twice.words[count:])
    )
    words = tuple(replace(word, heard=was.heard) for word, was in zip(line.words, attempt.words, strict=True))
    return [start, replace(line, heard=attempt.heard, words=words)]


def _stumbling(ground: Ground, attempt: Attempt, answer: _Answer, better: float) -> Attempt:
    """The line with the words said twice in it; ``better`` is how much the sound fits them better, over all frames."""
    words = ground.spoken_words[attempt.line]
    change = replace(answer.look.change(words), support=better * FRAME_MS / max(1, attempt.span.length_ms))
    line = laid(ground, Candidate(attempt.line, len(words), attempt.span, change), answer.twice, None, attempt.doubt)
    return replace(line, heard=attempt.heard, changes=(change,))
