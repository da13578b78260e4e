"""A cough, a knock, a page, a laugh: energy that is not speech, and no sound held for demonstration either."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lessoncut.hearing.records import Sound
from lessoncut.matching.findings.records import Choice, Evidence
from lessoncut.matching.findings.rule import Scene, Seen, is_noise
from lessoncut.matching.held import LEAST_MS, demonstrates, is_spoken_over
from lessoncut.matching.records import Reading
from lessoncut.times import Span, clock, seconds

LEAST_OVER_DB, SHORT_MS = 17.5, 300
"""Over the room tone; nobody minds what is softer and so short: a chair that creaks next door."""
UNDER_SPEECH_DB, VERY_SHORT_MS = 14.0, 200
"""Nor what lies so far under speech and is shorter still: lips that smack, a swallow."""
LIKE_SPEECH = 0.5
ALMOST_ALL = 0.6
LEAST_OF_SOUND = 0.35
TOGETHER_MS, AT_ITS_BEGINNING_MS = 130, 220
"""How soon speech goes on from a sound that is part of it; and from one that a reading begins in: "At... four"."""
EDGE_MS = 60
A_SOUND, LAUGHTER = "A sound that is not speech", "What sounds like laughter"


def find(scene: Scene) -> Iterator[Seen]:
    for sound in scene.hearing.sounds:
        if not _is_slight(scene, sound) and _is_stray(scene, sound):
            over_db = sound.peak_db - scene.hearing.floor_db
            over = Evidence("over the room tone", f"{over_db:.0f} dB")
            what = LAUGHTER if sound.laughter else A_SOUND
            yield _seen(scene, what, sound.span, min(0.95, 0.5 + over_db / 60), over)
    for aside in scene.match.asides:
        if is_noise(aside):
            yield _seen(scene, A_SOUND, aside.span, LIKE_SPEECH, Evidence("speech", "it may be, but no word is in it"))


def _is_slight(scene: Scene, sound: Sound) -> bool:
    """Whether nobody minds it, so short and soft is it."""
    if sound.span.length_ms <= VERY_SHORT_MS and sound.peak_db <= scene.hearing.speech_db - UNDER_SPEECH_DB:
        return True
    return sound.span.length_ms <= SHORT_MS and sound.peak_db < scene.hearing.floor_db + LEAST_OVER_DB


def _is_stray(scene: Scene, sound: Sound) -> bool:
    if sound.held:  # as steadily as a telephone buzzes
        kept = demonstrates(sound, scene.match) or is_spoken_over(sound, scene.match)
        return sound.span.length_ms >= LEAST_MS and not kept
    return not any(_is_speech(scene, reading, sound.span) for reading in scene.match.readings)


def _is_speech(scene: Scene, reading: Reading, span: Span) -> bool:
    """Whether the sound is part of a reading that a voice activity network did not know for speech.

    It is the reading as a whole, or the first sounds of it or of words: it lies under them, and speech goes on from it.
    """
    both_ms = reading.span.overlap_ms(span)
    if not both_ms:
        return False
    if both_ms >= ALMOST_ALL * reading.span.hull(span).length_ms:
        return True
    if _is_word_alone([word.span for word in reading.words], span):
        return True
    under_words = sum(word.span.overlap_ms(span) for word in reading.words) >= ALMOST_ALL * span.length_ms
    begins = abs(span.start_ms - reading.span.start_ms) <= EDGE_MS and both_ms >= ALMOST_ALL * span.length_ms
    within_ms = AT_ITS_BEGINNING_MS if begins else TOGETHER_MS
    goes_on = any(0 <= speech.start_ms - span.end_ms <= within_ms for speech in scene.hearing.speech)
    return (under_words or begins) and goes_on


def _is_word_alone(words: Sequence[Span], sound: Span) -> bool:
    """Whether one word stands in the sound by itself, as the last letter does in "2 p... m", and none beside it."""
    around = sound.padded(EDGE_MS, EDGE_MS)
    met = [word for word in words if word.overlap_ms(around)]
    return len(met) == 1 and met[0].overlap_ms(sound) >= max(
        ALMOST_ALL * met[0].length_ms, LEAST_OF_SOUND * sound.length_ms
    )


def _seen(scene: Scene, what: str, span: Span, confidence: float, why: Evidence) -> Seen:
    inside = any(reading.kept and reading.span.overlap_ms(span) for reading in scene.match.readings)
    cut_out = Choice("cut_out", "Cover it with room tone.")
    leave_in = Choice("leave_in", "Leave it in.")
    return Seen(
        kind="stray_sound",
        line_id=None,
        pass_id=None,
        span=span,
        confidence=round(confidence, 2),
        says=f"{what} at {clock(span.start_ms)}" + (", inside a reading that is kept." if inside else "."),
        evidence=(Evidence("length", f"{seconds(span.length_ms):.2f} s"), why),
        choices=(leave_in, cut_out) if inside else (cut_out, leave_in),
    )
