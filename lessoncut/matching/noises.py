"""Starts that were taken for a noise: a short, broken-off word is sometimes no speech to a voice activity network."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence

from lessoncut.hearing.records import Alignment
from lessoncut.matching.attempts import Attempt, Unscripted
from lessoncut.matching.ground import Ground
from lessoncut.matching.lay import Candidate
from lessoncut.matching.lines import laid
from lessoncut.matching.speakers import VoiceOf
from lessoncut.times import Span

SHORTEST_MS, LONGEST_MS = 150, 1000
BEFORE_LINE_MS = 1500
"""A start stands so close before the line that is begun anew."""
MOST_WORDS = 5
SURE = 0.7
LEAST_LASTS, MOST_LASTS = 0.4, 2.0
"""Of the time that the words take."""
HER_VOICE, LOWER = 1.2, 16.0
"""How far the sound may be from the colour of her voice in the line that follows, where a cough is 1.5 to 6 away; and
how far below the usual score the line's first words may lie on it."""
START_DOUBT = 2.0


def starts_among_noises(
    ground: Ground, attempts: Sequence[Attempt], left: Sequence[Unscripted], voice_of: VoiceOf
) -> list[Attempt]:
    """The sounds right before a full reading that are its first words, in the reader's voice.

    ``left`` is the speech that is no line so far: what gave one unsure word at most is no better than a sound.
    """
    unread = [talk.span for talk in left if _is_unread(talk)]
    likely = [
        _starts(ground, span, line)
        for span in sorted([*unread, *(sound.span for sound in ground.hearing.sounds if not sound.held)])
        if SHORTEST_MS <= span.length_ms <= LONGEST_MS
        and (line := _line_after(attempts, span)) is not None
        and _is_her_voice(span, line, voice_of)
    ]
    answers = ground.ask([candidate for starts in likely for candidate in starts])
    found = []
    for starts in likely:
        best = max(((candidate, answers[candidate]) for candidate in starts), key=_score, default=None)
        if best and _score(best) >= ground.usual_score - LOWER:
            found.append(laid(ground, *best, None, START_DOUBT))
    return found


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


def _score(start: tuple[Candidate, Alignment]) -> float:
    _, alignment = start
    return alignment.mean_score if alignment.words else float("-inf")
