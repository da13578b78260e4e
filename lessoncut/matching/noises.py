"""Speech that was taken for a noise: a short, broken-off word is sometimes no speech to a voice activity network."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import replace

from lessoncut.hearing.records import Alignment
from lessoncut.matching.attempts import Attempt, Unscripted
from lessoncut.matching.ground import EDGE_MS, Ground, said
from lessoncut.matching.lay import Candidate
from lessoncut.matching.lines import CLEAR_COST, laid
from lessoncut.matching.speakers import VoiceOf
from lessoncut.times import Span

SHORTEST_MS, LONGEST_MS = 150, 1000
BEFORE_LINE_MS = 1500
"""A start stands so close before the line that is begun anew."""
MOST_WORDS = 5
SURE = 0.7
LEAST_LASTS, MOST_LASTS = 0.4, 2.0
"""Of the time that the words take."""
HER_VOICE = 1.2
"""How far the sound may be from the colour of her voice in the line that follows, where a cough is 1.5 to 6 away."""
LOWER, LOWER_HEARD = 16.0, 40.0
"""How far below the usual score the line's first words may lie on it; and where they were heard there."""
START_DOUBT = 2.0
FAR_BETTER = 5.0


def starts_among_noises(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted], voice_of: VoiceOf
) -> list[Attempt]:
    """The sounds right before a full reading that are its first words, in the reader's voice.

    ``left`` is the speech that is no line so far: what gave one unsure word at most is no better than a sound.
    """
    unread = [talk.span for talk in left if _is_unread(talk)]
    unread += [span for span in _parted_off(ground, attempts) if not any(talk.span.overlap_ms(span) for talk in left)]
    likely = [
        (_starts(ground, span, line), _is_heard(ground, span, line))
        for span in sorted([*unread, *(sound.span for sound in ground.hearing.sounds if not sound.held)])
        if SHORTEST_MS <= span.length_ms <= LONGEST_MS
        and (line := _line_after(attempts, span)) is not None
        and _is_her_voice(span, line, voice_of)
    ]
    answers = ground.ask([candidate for starts, _ in likely for candidate in starts])
    found = []
    for starts, is_heard in likely:
        best = max(((candidate, answers[candidate]) for candidate in starts), key=_score, default=None)
        if best and _score(best) >= ground.usual_score - (LOWER_HEARD if is_heard else LOWER):
            found.append(laid(ground, *best, None, START_DOUBT))
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
    """The attempts, a doubtful line with the sound right before it, where its words lie far better on both."""
    doubtful = [attempt for attempt in attempts if attempt.full and attempt.doubt > CLEAR_COST]
    wider = {
        attempt: Candidate(attempt.line, attempt.upto, sound.span.hull(attempt.span))
        for attempt in doubtful
        for sound in ground.hearing.sounds
        if 0 <= attempt.span.start_ms - sound.span.end_ms <= EDGE_MS
    }
    answers = ground.ask(list(wider.values()))
    better = {
        attempt: laid(ground, candidate, answers[candidate], None, CLEAR_COST)
        for attempt, candidate in wider.items()
        if answers[candidate].words and answers[candidate].mean_score >= attempt.score + FAR_BETTER
    }
    return [replace(better[each], heard=each.heard) if each in better else each for each in attempts]


def _is_unread(talk: Unscripted) -> bool:
    return not talk.words or (len(talk.words) == 1 and talk.words[0].probability < SURE)


def _line_after(attempts: Sequence[Attempt], span: Span) -> Attempt | None:
    at = bisect_left(attempts, span.end_ms, key=lambda attempt: attempt.span.start_ms)
    if at == len(attempts) or (at and attempts[at - 1].span.overlap_ms(span)):
        return None
    following = attempts[at]
    return following if following.full and span.gap_to_ms(following.span) < BEFORE_LINE_MS else None


def _is_her_voice(span: Span, line: Attempt, voice_of: VoiceOf) -> bool:
    sound, reading = voice_of(span), voice_of(line.span)
    return sound is not None and reading is not None and sound.distance(reading) <= HER_VOICE


def _starts(ground: Ground, span: Span, line: Attempt) -> list[Candidate]:
    uptos = range(1, min(len(ground.spoken_words[line.line]), MOST_WORDS + 1))
    return [
        Candidate(line.line, upto, span)
        for upto in uptos
        if LEAST_LASTS < span.length_ms / ground.expected_ms(line.line, upto) < MOST_LASTS
    ]


def _is_heard(ground: Ground, span: Span, line: Attempt) -> bool:
    """Whether some of the words that were heard of the line stand in the span, and are the line's first ones."""
    heard = said([word for word in line.heard if span.contains(word.span.start_ms)])
    return bool(heard) and ground.spoken_words[line.line][: len(heard)] == heard


def _score(start: tuple[Candidate, Alignment]) -> float:
    _, alignment = start
    return alignment.mean_score if alignment.words else float("-inf")
