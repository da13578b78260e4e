"""Readings whose first words have no sound of their own: it stands right before them, taken for a start or for talk.

After a comma's pause the recogniser hears a short beginning as something else ("Wow," for "Well,"), and the aligner,
asked about what follows, must squeeze those words into no time at all.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from lessoncut import wording
from lessoncut.hearing.records import Alignment
from lessoncut.matching.attempts import Attempt, Unscripted, heard_in
from lessoncut.matching.bridges import are_whole
from lessoncut.matching.ground import RUNS_ON_MS, Ground, said
from lessoncut.matching.lay import Candidate
from lessoncut.matching.lines import laid
from lessoncut.times import Span

LONGEST_MS = 2500
"""Of a beginning."""
LONGEST_PAUSE_MS = 1000
"""Between it and the rest of its line."""
LONG_PAUSE_MS = 500
"""With as much behind it a word of one sound, as "I", may be a start: said anew it is too short to tell."""
MOST_LEFT_MS = 550
"""So much speech behind the first words, before the pause, is none of theirs."""
LEAST_OF_SOUND = 0.5
"""They must be so much of the sound that they are said in."""
LEAST_ALIKE = 0.4
"""What was heard of a line, and the line; below, something else may have been said."""
WORSE = 30.0
"""So much worse than before the reading lie its first words in it: those that were said there lie hardly worse."""
LOWER = 25.0
"""So far below the usual score they lie at least."""


@dataclass(frozen=True)
class _Beginning:
    """Sound right before a reading that may hold its first words: a start's, or what stands last in some talk."""

    before: Attempt | Unscripted
    sound: Span
    line: Attempt

    @property
    def alone(self) -> Candidate:
        return Candidate(self.line.line, self.line.upto, self.line.span)

    @property
    def whole(self) -> Candidate:
        return replace(self.alone, stretch=self.sound.hull(self.line.span))


def with_squeezed_words(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts in time order, each with its first words where they were said; and what is left of the talk."""
    beginnings = list(_beginnings(ground, attempts, left))
    answers = ground.ask([each.alone for each in beginnings])
    likely = [each for each in beginnings if _may_be_squeezed(ground, answers[each.alone])]
    answers |= ground.ask([each.whole for each in likely])
    found, rest = list(attempts), list(left)
    for each in _without_what_is_there(ground, likely, answers):
        whole = answers[each.whole]
        if each.line not in found or each.before not in (*found, *rest):
            continue  # they are part of a reading by now
        begun = tuple(word for word in heard_in(each.before) if word.span.middle_ms >= each.sound.start_ms)
        line = replace(laid(ground, each.whole, whole, None, each.line.doubt), heard=(*begun, *each.line.heard))
        found[found.index(each.line)] = line
        if isinstance(each.before, Attempt):
            found.remove(each.before)
        else:
            at = rest.index(each.before)
            rest[at : at + 1] = _what_is_left(ground, each.before, each.sound)
    return found, rest


def _beginnings(ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]) -> Iterator[_Beginning]:
    """What stands right before the full readings and is none."""
    both: list[Attempt | Unscripted] = [*attempts, *left]
    for before, line in pairwise(sorted(both, key=lambda each: each.span)):
        if isinstance(line, Attempt) and line.full and not (_is_reading(before) or _are_heard_twice(before, line)):
            sound = _last_sound(ground, before.span)
            if before.span.gap_to_ms(line.span) < LONGEST_PAUSE_MS and sound.length_ms <= LONGEST_MS:
                yield _Beginning(before, sound, line)


def _is_reading(part: Attempt | Unscripted) -> bool:
    """Whether a whole line was heard there, more or less."""
    if not isinstance(part, Attempt) or not part.full:
        return False
    return not part.heard or wording.row_likeness(said(part.heard), part.texts) >= LEAST_ALIKE


def _are_heard_twice(part: Attempt | Unscripted, line: Attempt) -> bool:
    """Whether one of a start's words was heard more often, in both, than the line has it: it was begun anew."""
    if not isinstance(part, Attempt):
        return False
    heard = Counter(said((*part.heard, *line.heard)))
    return any(heard[word] > line.texts.count(word) for word in part.texts)


def _last_sound(ground: Ground, span: Span) -> Span:
    """What is said behind the last pause in it."""
    holes = [hole for hole in ground.holes(span) if hole.length_ms >= RUNS_ON_MS]
    return Span(holes[-1].end_ms, span.end_ms) if holes else span


def _what_is_left(ground: Ground, talk: Unscripted, sound: Span) -> list[Unscripted]:
    """The talk that stands before the sound, if there is any."""
    if sound.start_ms <= talk.span.start_ms:
        return []
    end_ms = ground.speech(Span(talk.span.start_ms, sound.start_ms))[-1].end_ms
    words = tuple(word for word in talk.words if word.span.middle_ms < sound.start_ms)
    return [Unscripted(Span(talk.span.start_ms, end_ms), words)]


def _may_be_squeezed(ground: Ground, alone: Alignment) -> bool:
    """Whether the first words lie so badly, however many of them those are, or there is no place for all."""
    if not alone.words:
        return True
    counts = range(1, len(alone.words) + 1)
    return any(_of_first(alone, count) < ground.usual_score - LOWER for count in counts)


def _of_first(alignment: Alignment, count: int) -> float:
    return replace(alignment, words=alignment.words[:count]).mean_score


def _without_what_is_there(
    ground: Ground, beginnings: Sequence[_Beginning], answers: Mapping[Candidate, Alignment]
) -> list[_Beginning]:
    """Those with squeezed words, unless the recogniser finds them in the reading itself."""
    squeezed = [each for each in beginnings if _are_squeezed(ground, each, answers[each.alone], answers[each.whole])]
    first_words = {each: _first_words(each, answers[each.whole]) for each in squeezed}
    asked = [each for each, count in first_words.items() if count in ground.beginnings(each.line.line)]
    whole = are_whole(ground, [(each.alone, ground.written(each.alone, first_words[each])) for each in asked])
    there = {each for each, is_whole in zip(asked, whole, strict=True) if is_whole}
    return [each for each in squeezed if each not in there]


def _first_words(each: _Beginning, whole: Alignment) -> int:
    """How many of the line's words were laid on the sound before."""
    return sum(word.span.middle_ms < each.line.span.start_ms for word in whole.words)


def _are_squeezed(ground: Ground, each: _Beginning, alone: Alignment, whole: Alignment) -> bool:
    """Whether the words that lie well on the sound before have no place in the reading without it."""
    count = _first_words(each, whole)
    if not count:
        return False
    end_ms = min(whole.words[count - 1].span.end_ms, each.sound.end_ms)
    if ground.speech_ms(Span(end_ms, each.sound.end_ms)) > MOST_LEFT_MS:
        return False
    laid_on = Span(min(whole.words[0].span.start_ms, end_ms), end_ms).clipped(each.sound)
    if ground.speech_ms(laid_on) < LEAST_OF_SOUND * ground.speech_ms(each.sound):
        return False
    of_one_sound = wording.sound_count(each.line.texts[:count]) == 1
    if of_one_sound and each.sound.gap_to_ms(each.line.span) >= LONG_PAUSE_MS:
        return False
    where_said = _of_first(whole, count)
    if not alone.words:
        return where_said >= ground.usual_score - LOWER
    squeezed = _of_first(alone, count)
    return squeezed < min(where_said - WORSE, ground.usual_score - LOWER)
