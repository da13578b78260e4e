"""Lines that nobody would know by the script, but by another reading of hers: she says them each time alike.

"False." that a recogniser makes "Vols." of, and that lies poorly on the sound, is missing in every pass; yet in every
pass the same sound stands where it belongs.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, islice, pairwise, product
from statistics import median

from lessoncut import wording
from lessoncut.hearing.records import HeardWord
from lessoncut.matching.attempts import CLEAR, Attempt, Unscripted, heard_in
from lessoncut.matching.ground import EDGE_MS, Ground, said, surely_heard
from lessoncut.matching.lay import Candidate
from lessoncut.matching.lines import CLEAR_COST, laid, laid_anyway
from lessoncut.matching.speakers import VoiceOf, voices_apart
from lessoncut.matching.talk import parted
from lessoncut.times import Span

MOST_WORDS = 2
"""The colour of more words is that of her voice, whatever they are."""
SURE = 0.7
"""What was heard more surely is that."""
FEWEST_SOUNDS = 3
"""Shorter words, and such as are none, are what a recogniser makes of anything: "I", or "weech" of "each"."""
LASTS, AS_LONG = (0.5, 2.2), (0.5, 2.0)
"""Of the time that the line takes, and that the other takes."""
ALIKE = 0.35
"""Up to so far apart are two that say the same; other words of hers are 0.4 or more away."""
LOWER, LITTLE_LOWER = 30.0, 3.0
"""How far below the usual score the line may lie; and up to where it needs no other reading to be known by."""
SO_NEAR, MOST_LINES, MOST_OF_ONE, ABOUT_AS_LONG = 1.35, 14, 4, (0.6, 1.6)
"""How many times as far as two readings of one line usually are, of so many lines in the take, what lies no further is
that line: of the talk where 259 lines were left out none is as near as 1.7; and of what length, beside the other."""
LACKING_MS = 300
"""What lacks so much of the other reading's end is a start."""
NEAR_AND_LIKE = 1.9
"""The same for the end of talk whose words are like the line's."""
HEARD_ALIKE, NEAR_AND_ALIKE = 0.8, 1.8
"""How like what was heard in a reading of the line beside it talk must be, and how near it, to be that line said again:
a name that a recogniser makes the same words of each time. Of other talk none is both."""
SEVERAL, LIKE = 4, 0.5
"""So many words that were clearly heard are no line that they are not so like."""


@dataclass(frozen=True)
class Gap:
    """``missing`` lines ``between`` two readings, and what stands ``inside``."""

    before: Attempt
    after: Attempt
    between: Span
    missing: Sequence[int]
    inside: Sequence[Attempt | Unscripted]


@dataclass(frozen=True)
class Place:
    """Starts and talk ``between`` two readings, in which that was ``heard``, that may be the ``line`` missing there:
    all of them, but for the ``rest`` of the talk, which was said in one breath with it."""

    line: Candidate
    parts: tuple[Attempt | Unscripted, ...]
    between: Span
    heard: tuple[HeardWord, ...]
    rest: tuple[Unscripted, ...] = ()

    def excludes(self, other: Place) -> bool:
        same_line = self.line.line == other.line.line and self.between == other.between
        return same_line or not set(self.parts).isdisjoint(other.parts)


@dataclass(frozen=True)
class _Sound:
    """What may be the line that is missing there; ``instead`` of this start or talk."""

    line: Candidate
    instead: Attempt | Unscripted


def with_lines_by_example(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts in time order, with the short lines that are missing where something sounds as they do elsewhere, or
    as what stands elsewhere in their place, or where they lie as well as lines do; and what is left of the talk."""
    sounds = _sounds(ground, attempts, left)
    answers = ground.ask([sound.line for sound in sounds])
    likely = [s for s in sounds if answers[s.line].words and answers[s.line].mean_score >= ground.usual_score - LOWER]
    spoken = [(ground.spoken_words[sound.line.line], sound.line.stretch) for sound in likely]
    spoken += [(attempt.texts, attempt.span) for attempt in attempts if attempt.full and attempt.laid]
    found: dict[Attempt | Unscripted, Attempt] = {}
    for sound in likely:
        words, span = ground.spoken_words[sound.line.line], sound.line.stretch
        examples = [other for text, other in spoken if text == words and not other.overlap_ms(span)]
        lies_well = answers[sound.line].mean_score >= ground.usual_score - LITTLE_LOWER
        telling = wording.sound_count(words) >= FEWEST_SOUNDS
        if (lies_well and telling) or any(_are_alike(span, other, ground.voice_of) for other in examples):
            found.setdefault(sound.instead, laid(ground, sound.line, answers[sound.line], None, CLEAR_COST))
    lines = [attempt for attempt in attempts if attempt not in found]
    return sorted([*lines, *found.values()], key=lambda each: each.span), [talk for talk in left if talk not in found]


def with_lines_that_sound_so(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts in time order, with the passage's lines that are missing where something, whatever was heard, sounds
    as another reading of theirs; and what is left of the talk."""
    places = list(_places(ground, attempts, left))
    readings = readings_by_line(attempts)
    usual = usual_distance(ground, list(readings.values())) if places else math.nan
    alike: list[tuple[float, Place]] = []
    for place in places:
        stretch, examples = place.line.stretch, [each for each in readings[place.line.line] if _as_long(place, each)]
        if not _goes_on(place, left):
            examples = [each for each in examples if not ground.lacks_end(stretch, each, LACKING_MS)]
        distance = ground.distance(stretch, examples)
        near = distance <= NEAR_AND_LIKE * usual and place.rest and _are_like(ground, place.line.line, place.heard)
        if distance <= SO_NEAR * usual or near:
            alike.append((distance, place))
    found: list[Place] = []
    for _, place in sorted(alike, key=lambda each: each[0]):
        if not any(place.excludes(other) for other in found):
            found.append(place)
    return with_read(ground, attempts, left, found)


def with_lines_heard_alike(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts in time order, with the talk, or what it begins or ends in, right beside a reading that says that
    line once more: it was heard as other words, but as another reading of the line was, and sounds as that does."""
    full = [attempt for attempt in attempts if attempt.full]
    likely = [
        (talk, one, rest, example)
        for talk in left
        for example in _of_lines_beside(ground, full, talk)
        for one, rest in ((talk, ()), *((end, (rest,)) for end, rest in _ends(ground, talk)))
        if _are_heard_alike(one, example)
    ]
    usual = usual_distance(ground, list(readings_by_line(attempts).values())) if likely else math.nan
    found: dict[Unscripted, Place] = {}
    for talk, one, rest, example in likely:
        if talk not in found and ground.distance(one.span, (example.span,)) <= NEAR_AND_ALIKE * usual:
            found[talk] = Place(ground.whole(example.line, one.span), (talk,), talk.span, one.words, rest)
    return with_read(ground, attempts, left, list(found.values()))


def with_read(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted], found: Sequence[Place]
) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts in time order, with the lines that were found in place of what they were told as; and what is left
    of the talk, in time order."""
    taken = {part for place in found for part in place.parts}
    answers = ground.ask([place.line for place in found])
    read = [laid_anyway(ground, place.line, answers[place.line], place.heard, CLEAR_COST) for place in found]
    kept = [attempt for attempt in attempts if attempt not in taken]
    talk = [*(talk for talk in left if talk not in taken), *(rest for place in found for rest in place.rest)]
    return sorted([*kept, *read], key=lambda each: each.span), sorted(talk, key=lambda each: each.span)


def readings_by_line(attempts: Sequence[Attempt]) -> dict[int, list[Span]]:
    """Those of each line that is read."""
    readings: dict[int, list[Span]] = defaultdict(list)
    for attempt in attempts:
        if attempt.full:
            readings[attempt.line].append(attempt.span)
    return readings


def _of_lines_beside(ground: Ground, readings: Sequence[Attempt], talk: Unscripted) -> list[Attempt]:
    """All readings of the passage's lines that are read right before and right behind the talk."""
    at = bisect_left(readings, talk.span.start_ms, key=lambda reading: reading.span.start_ms)
    beside = {each.line for each in readings[max(0, at - 1) : at + 1] if ground.script.lines[each.line].in_passage}
    return [each for each in readings if each.line in beside]


def _are_heard_alike(talk: Unscripted, example: Attempt) -> bool:
    heard, like = said(talk.words), said(example.heard)
    if not (heard and like) or like == example.texts:
        return False
    as_long = ABOUT_AS_LONG[0] < talk.span.length_ms / example.span.length_ms < ABOUT_AS_LONG[1]
    return as_long and wording.row_likeness(heard, like) >= HEARD_ALIKE


def usual_distance(ground: Ground, readings: Sequence[Sequence[Span]]) -> float:
    """How far apart the nearest two readings of a line usually are in this take (others may be a learner's); not a
    number where nobody can tell of any. ``readings``: of each line."""
    rows = islice((spans[:MOST_OF_ONE] for spans in readings if len(spans) > 1), MOST_LINES)
    nearest = [min(ground.distance(first, (second,)) for first, second in combinations(spans, 2)) for spans in rows]
    known = [distance for distance in nearest if distance < math.inf]
    return median(known) if known else math.nan


def _as_long(place: Place, example: Span) -> bool:
    return ABOUT_AS_LONG[0] < place.line.stretch.length_ms / example.length_ms < ABOUT_AS_LONG[1]


def _goes_on(place: Place, left: Sequence[Unscripted]) -> bool:
    """Whether talk behind it, before the next reading, may be its end."""
    behind = Span(place.line.stretch.end_ms, max(place.line.stretch.end_ms, place.between.end_ms))
    return any(behind.contains(talk.span.middle_ms) for talk in left)


def _places(ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]) -> Iterator[Place]:
    """Where lines of the passage are missing between two readings: each start or talk there that was not clearly heard
    as several words, alone and with what follows it; and each end or beginning of talk that was not clearly heard as
    something else."""
    others: list[Attempt | Unscripted] = [*(each for each in attempts if not each.full), *left]
    for gap in gaps(ground, attempts, sorted(others, key=lambda each: each.span)):
        lines = [line for line in gap.missing if ground.script.lines[line].in_passage]
        unclear = [each for each in gap.inside if not surely_heard(heard_in(each), SEVERAL, CLEAR)]
        for parts in (*((each,) for each in unclear), *pairwise(unclear)):
            span = parts[0].span.hull(parts[-1].span)
            heard = tuple(word for part in parts for word in heard_in(part))
            for line in lines:
                yield Place(ground.whole(line, span), parts, gap.between, heard)
        talks = [each for each in gap.inside if lines and isinstance(each, Unscripted)]
        for talk, one, rest in [(each, *ends) for each in talks for ends in _ends(ground, each)]:
            clear = surely_heard(one.words, SEVERAL, CLEAR)
            for line in lines:
                if not clear or _are_like(ground, line, one.words):
                    yield Place(ground.whole(line, one.span), (talk,), gap.between, one.words, (rest,))


def _ends(ground: Ground, talk: Unscripted) -> Iterator[tuple[Unscripted, Unscripted]]:
    """Each end and each beginning of the talk, with what is left of it."""
    for at in range(1, len(talk.words)):
        before, behind = parted(ground, talk, at)
        yield before, behind
        yield behind, before


def _are_like(ground: Ground, line: int, heard: Sequence[HeardWord]) -> bool:
    return wording.row_likeness(said(heard), ground.spoken_words[line]) >= LIKE


def gaps(ground: Ground, attempts: Sequence[Attempt], others: Sequence[Attempt | Unscripted]) -> Iterator[Gap]:
    """Where lines are missing between two readings, with those of the others that stand there."""
    for before, after in pairwise(attempt for attempt in attempts if attempt.full):
        missing = ground.missing_between(before.line, after.line)
        between = Span(before.span.end_ms - EDGE_MS, max(before.span.end_ms, after.span.start_ms) + EDGE_MS)
        inside = [each for each in others if each.span.overlap_ms(between) == each.span.length_ms] if missing else []
        if inside:
            yield Gap(before, after, between, missing, inside)


def _are_alike(one: Span, other: Span, voice_of: VoiceOf) -> bool:
    if not AS_LONG[0] < one.length_ms / other.length_ms < AS_LONG[1]:
        return False
    apart = voices_apart(one, other, voice_of)
    return apart is not None and apart <= ALIKE


def _sounds(ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]) -> list[_Sound]:
    """What stands between two readings where short lines are missing and was not surely heard as anything."""
    others: list[Attempt | Unscripted] = [*(each for each in attempts if each.is_unsure_start), *left]
    doubtful = [each for each in others if not any(map(_is_sure, heard_in(each)))]
    found = []
    for gap in gaps(ground, attempts, doubtful):
        short = [line for line in gap.missing if len(ground.spoken_words[line]) <= MOST_WORDS]
        for line, each in product(short, gap.inside):
            look = ground.whole(line, _whole(ground, each, gap.before, gap.after))
            if LASTS[0] < ground.lasts(look) < LASTS[1]:
                found.append(_Sound(look, each))
    return found


def _is_sure(word: HeardWord) -> bool:
    words = said([word])
    known = all(map(wording.in_dictionary, words))
    return word.probability >= SURE and known and wording.sound_count(words) >= FEWEST_SOUNDS


def _whole(ground: Ground, each: Attempt | Unscripted, before: Attempt, after: Attempt) -> Span:
    """The speech that it is part of."""
    spans = [speech for speech in ground.speech(each.span) if not speech.overlap_ms(before.span)]
    spans = [speech for speech in spans if not speech.overlap_ms(after.span)]
    return spans[0].hull(spans[-1]) if spans else each.span
