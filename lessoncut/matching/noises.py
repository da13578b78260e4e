"""Speech that was taken for a noise: a short, broken-off word is sometimes no speech to a voice activity network."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from statistics import median
from typing import Literal

from lessoncut import wording
from lessoncut.hearing.records import Alignment
from lessoncut.matching.attempts import Attempt, Unscripted
from lessoncut.matching.beginnings import as_lines_begin
from lessoncut.matching.ground import EDGE_MS, Ground, said
from lessoncut.matching.lay import Candidate
from lessoncut.matching.lines import CLEAR_COST, laid
from lessoncut.matching.speakers import VoiceOf, voice_apart_from_all, voices_apart
from lessoncut.times import Span, SpanIndex, merged

SHORTEST_MS, LONGEST_MS = 150, 1000
BEFORE_LINE_MS = 1500
"""A start stands so close before the line that is begun anew."""
MOST_WORDS, FEW_WORDS = 5, 2
SURE = 0.7
LEAST_LASTS, MOST_LASTS = 0.4, 2.0
"""Of the time that the words take."""
HER_VOICE, NEARLY_HERS, HER_SPEECH, VERY_HERS = 1.2, 1.3, 1.4, 0.7
"""How far a sound is from the colour of her voice in the line that follows, where a cough is 1.5 to 6 away: at most
where it is hers; a start that is all but surely its words; what is speech; and up to where it is nobody else's."""
LOWER, LOWER_FAR, LOWER_HERS, LOWER_HEARD = 16.0, 12.0, 22.0, 45.0
"""How far below the usual score the line's first words may lie on speech; on such that is further from her voice; in a
voice that is nobody else's; and where they were heard there, or nothing was: what she says by itself before a line,
and nobody can read, is mostly the line."""
UNREAD = 0.4
"""Up to this probability a word was not read."""
FEWEST_OF_NOISE, FEWEST_NEARLY, LOWER_NOISE = 2, 3, 8.0
"""A start of fewer sounds is too little to know a noise from, in her voice, and nearly: coughs are like "I" and "the";
and how far below the usual score it may lie."""
ALMOST_HERS, HIGHER = 1.6, 2.0
"""Up to where a noise may be from her voice that is the line's first words so much better than usual."""
NOT_HERS, FAR_FROM_HERS, TELLING_MS, FAR_LOWER = 1.9, 2.9, 300, 12.0
"""From where on a start of which no word was surely heard, and that is doubted so much, is no start: in how far it is
from her voice, also where it is too short to tell that well, and in how far it lies below the usual score."""
LOWER_LINE, LIKE_HERS = 8.0, 2.4
"""How far below the usual score a whole line may lie; and up to where a noise may be from her voice that is so much
better than usual a line that is missing there."""
FEWEST_SOUNDS = 3
"""A line of fewer sounds is too little to know a noise from."""
FURTHER, FURTHER_WELL, WELL, FURTHER_HEARD = 0.75, 0.85, 10.0, 1.0
"""How far from the line's beginning such a start may be, of how far it is from those of half of all other lines; and
one that lies no lower than this below the usual score, or in which the line's first words were surely heard. Of five
that were said, but not surely heard, four are no further than 0.72 of it, and one, that lies low, is lost at 0.92; of
two coughs and a laugh none is nearer than 0.78."""
FEWEST_OTHERS = 4
"""To tell by."""
LEAST_OF_SOUND = 0.4
"""So much of a sound its words must take up."""
START_DOUBT = 2.0
LIKE = 0.5
FIRST_WORD_MS = 450
"""How long she may pause behind a first word that was taken for a noise: "Heave, said the bakers." """
FAR_BETTER = 3.5


@dataclass(frozen=True)
class _Sound:
    """What stands before a line: talk of which next to nothing was read, speech parted off, or a noise."""

    span: Span
    kind: Literal["talk", "speech", "noise"]
    unread: bool = False

    def lower(self, apart: float, *, heard: bool) -> float | None:
        """How far below the usual score the line's first words may lie on it, so ``apart`` from her voice; None where
        they cannot be."""
        if self.kind == "noise":
            if apart > NEARLY_HERS:
                return -HIGHER if apart <= ALMOST_HERS else None
            return LOWER_HEARD if heard else LOWER_NOISE
        if apart > HER_VOICE:
            return LOWER_FAR if apart <= HER_SPEECH else None
        if heard or self.unread:
            return LOWER_HEARD
        return LOWER_HERS if apart <= VERY_HERS else LOWER

    def fewest(self, apart: float) -> int:
        """Of how many sounds the line's first words must be."""
        if self.kind != "noise":
            return 1
        return FEWEST_OF_NOISE if apart <= HER_VOICE else FEWEST_NEARLY


def starts_among_noises(ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]) -> list[Attempt]:
    """The sounds right before a full reading that are its first words, in the reader's voice.

    ``left`` is the speech that is no line so far: what gave one unsure word at most is no better than a sound.
    """
    likely: list[tuple[list[Candidate], float]] = []
    for sound in _sounds(ground, attempts, left):
        line = _line_after(attempts, sound.span) if SHORTEST_MS <= sound.span.length_ms <= LONGEST_MS else None
        apart = voices_apart(sound.span, line.span, ground.voice_of) if line else None
        if line is None or apart is None:
            continue
        lower = sound.lower(apart, heard=_is_heard(ground, sound.span, line))
        if lower is not None:
            likely.append((_starts(ground, sound.span, line, sound.fewest(apart)), lower))
    return [start for start in _best_of_each(ground, likely, START_DOUBT) if _sounds_so(ground, attempts, start)]


def _sounds_so(ground: Ground, attempts: Sequence[Attempt], start: Attempt) -> bool:
    """Whether it is as the line begins rather than as most others do; where these are too few, nobody can tell."""
    found = as_lines_begin(ground, attempts, start.span, start.line)
    if found is None:
        return start.span.length_ms >= SHORTEST_MS
    most = FURTHER_WELL if start.score >= ground.usual_score - WELL else FURTHER
    line = _line_after(attempts, start.span)
    if line and _is_heard(ground, start.span.padded(EDGE_MS, 0), line, SURE):
        most = FURTHER_HEARD
    return len(found.others) < FEWEST_OTHERS or found.nearest.distance <= most * median(found.others)


def _best_of_each(ground: Ground, likely: Sequence[tuple[list[Candidate], float]], doubt: float) -> list[Attempt]:
    """The best of each row of candidates, where it lies no further below the usual score than is said beside it."""
    answers = ground.ask([candidate for row, _ in likely for candidate in row])
    found = []
    for row, lower in likely:
        best = max(((candidate, answers[candidate]) for candidate in row), key=_score, default=None)
        if best and _score(best) >= ground.usual_score - lower and _fills(*best):
            found.append(laid(ground, *best, None, doubt))
    return found


def _sounds(ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted]) -> list[_Sound]:
    said_in = SpanIndex(merged(attempt.span for attempt in attempts))
    talks = SpanIndex(merged(talk.span for talk in left))
    sounds = [_Sound(span, "speech") for span in _parted_off(ground, attempts) if not talks.meeting(span)]
    sounds += [_Sound(sound.span, "noise") for sound in ground.hearing.sounds if sound.may_be_speech]
    for talk in left:
        runs_on = talk.span.start_ms - said_in.last_end_ms(talk.span.end_ms) < EDGE_MS
        if _is_unread(talk, SURE) and not runs_on:  # as the end of a reading does in a live room
            sounds.append(_Sound(talk.span, "talk", _is_unread(talk, UNREAD)))
    return sorted(sounds, key=lambda each: each.span)


def without_noises(ground: Ground, attempts: Sequence[Attempt]) -> tuple[list[Attempt], list[Unscripted]]:
    """The attempts without doubtful starts that are a cough or a creak, or somebody else; and those, as speech."""
    following: Attempt | None = None
    starts: list[Attempt] = []
    for attempt in reversed(attempts):
        if attempt.full:
            following = attempt
        elif following and attempt.is_unsure_start and all(word.probability < SURE for word in attempt.heard):
            apart = voices_apart(attempt.span, following.span, ground.voice_of)
            most_apart = NOT_HERS if attempt.span.length_ms >= TELLING_MS else FAR_FROM_HERS
            if attempt.score < ground.usual_score - FAR_LOWER or (apart is not None and apart > most_apart):
                starts.append(attempt)
    return [each for each in attempts if each not in starts], [Unscripted(each.span, each.heard) for each in starts]


def lines_among_noises(ground: Ground, attempts: Sequence[Attempt]) -> list[Attempt]:
    """The sounds where a short line is missing between two others that say it, in the reader's voice."""
    readings = [attempt for attempt in attempts if attempt.full]
    likely: list[tuple[list[Candidate], float]] = []
    for before, after in pairwise(readings):
        if lines := _missing(ground, before.line, after.line):
            for span, apart in _free_sounds(ground, attempts, before, after):
                fitting = [Candidate(*line, span) for line in lines if _may_last(ground, span, *line)]
                likely.append((fitting, LOWER_LINE if apart <= HER_VOICE else -HIGHER))
    return _best_of_each(ground, likely, CLEAR_COST)


def _missing(ground: Ground, before: int, after: int) -> list[tuple[int, int]]:
    """The lines that may be missing between the two and how many words each has, if its sounds can tell it from a
    noise."""
    rows = [(line, ground.spoken_words[line]) for line in ground.missing_between(before, after)]
    return [(line, len(words)) for line, words in rows if wording.sound_count(words) >= FEWEST_SOUNDS]


def _free_sounds(
    ground: Ground, attempts: Sequence[Attempt], before: Attempt, after: Attempt
) -> list[tuple[Span, float]]:
    """The sounds between two readings that are no attempt so far, and how far each is from the voice of one of them."""
    between = Span(before.span.end_ms, max(before.span.end_ms, after.span.start_ms))
    found = []
    for span in (sound.span for sound in ground.hearing.sounds if sound.may_be_speech):
        free = not any(attempt.span.overlap_ms(span) for attempt in attempts)
        if free and between.overlap_ms(span) == span.length_ms:
            apart = voice_apart_from_all(span, (before.span, after.span), ground.voice_of)
            if apart is not None and apart <= LIKE_HERS:
                found.append((span, apart))
    return found


def _parted_off(ground: Ground, attempts: Sequence[Attempt]) -> list[Span]:
    """The beginnings of the speech that a line stands in, where a moment of room tone parts them from the line."""
    found = []
    for attempt in attempts:
        for speech in ground.speech(attempt.span)[:1]:
            holes = ground.holes(Span(speech.start_ms, max(speech.start_ms, attempt.span.start_ms + EDGE_MS)))
            found += [Span(speech.start_ms, hole.start_ms) for hole in holes[-1:]]
    return found


def with_first_sounds(ground: Ground, attempts: Sequence[Attempt]) -> list[Attempt]:
    """The attempts, a line with the sound right before it, where its words lie far better on both.

    Only of a doubtful line, and one whose first word nobody heard; and no sound that is far from her voice.
    """
    full = [attempt for attempt in attempts if attempt.full]
    doubtful = [attempt for attempt in full if attempt.doubt > CLEAR_COST or _lacks_first_word(attempt)]
    wider = {
        attempt: Candidate(attempt.line, attempt.upto, sound.span.hull(attempt.span))
        for attempt in doubtful
        for sound in ground.hearing.sounds
        if sound.span.start_ms < attempt.span.start_ms <= sound.span.end_ms + FIRST_WORD_MS
        and _may_be_hers(sound.span, attempt.span, ground.voice_of)
    }
    answers = ground.ask(list(wider.values()))
    better = {
        attempt: laid(ground, candidate, answers[candidate], None, CLEAR_COST)
        for attempt, candidate in wider.items()
        if answers[candidate].words and answers[candidate].mean_score >= attempt.score + FAR_BETTER
    }
    return [replace(better[each], heard=each.heard) if each in better else each for each in attempts]


def _may_be_hers(sound: Span, line: Span, voice_of: VoiceOf) -> bool:
    apart = voices_apart(sound, line, voice_of)
    return apart is None or apart <= LIKE_HERS


def _lacks_first_word(attempt: Attempt) -> bool:
    heard = said(attempt.heard)
    return bool(heard) and wording.likeness(heard[0], attempt.texts[0]) < LIKE


def _is_unread(talk: Unscripted, sure: float) -> bool:
    """Whether no word was heard in the talk, or but one or two that are not so sure."""
    return len(talk.words) <= FEW_WORDS and all(word.probability < sure for word in talk.words)


def _line_after(attempts: Sequence[Attempt], span: Span) -> Attempt | None:
    at = bisect_left(attempts, span.end_ms, key=lambda attempt: attempt.span.start_ms)
    if at == len(attempts) or (at and attempts[at - 1].span.overlap_ms(span)):
        return None
    following = attempts[at]
    return following if following.full and span.gap_to_ms(following.span) < BEFORE_LINE_MS else None


def _starts(ground: Ground, span: Span, line: Attempt, fewest_sounds: int) -> list[Candidate]:
    uptos = range(1, min(len(ground.spoken_words[line.line]), MOST_WORDS + 1))
    return [
        Candidate(line.line, upto, span)
        for upto in uptos
        if _may_last(ground, span, line.line, upto)
        and wording.sound_count(ground.spoken_words[line.line][:upto]) >= fewest_sounds
    ]


def _may_last(ground: Ground, span: Span, line: int, upto: int) -> bool:
    return LEAST_LASTS < span.length_ms / ground.expected_ms(line, upto) < MOST_LASTS


def _is_heard(ground: Ground, span: Span, line: Attempt, least_sure: float = 0.0) -> bool:
    """Whether some of the words that were heard of the line, so surely, stand in the span, and are its first ones."""
    words = [word for word in line.heard if span.contains(word.span.start_ms)]
    heard = said(words) if all(word.probability >= least_sure for word in words) else ()
    return bool(heard) and ground.spoken_words[line.line][: len(heard)] == heard


def _fills(candidate: Candidate, alignment: Alignment) -> bool:
    """Whether the words take up enough of the sound: the most of a cough is none."""
    words = alignment.words
    return (
        words[0].span.hull(words[-1].span).overlap_ms(candidate.stretch) >= LEAST_OF_SOUND * candidate.stretch.length_ms
    )


def _score(start: tuple[Candidate, Alignment]) -> float:
    _, alignment = start
    return alignment.mean_score if alignment.words else float("-inf")
