"""Text that the recogniser wrote where nobody speaks."""

from __future__ import annotations

from collections.abc import Iterator

from lessoncut import wording
from lessoncut.hearing.records import HeardWord, Hearing
from lessoncut.matching.findings.records import Choice, Evidence
from lessoncut.matching.findings.rule import Scene, Seen, quoted
from lessoncut.matching.pieces import VOICED_ENOUGH
from lessoncut.matching.records import Reading
from lessoncut.times import clock

TOGETHER_MS = 1500
BESIDE_MS = 500
"""So near before a reading the line's own first words are its own, timed too early."""
NO_LENGTH_MS, AT_SPEECH_MS = 60, 120
"""A word so short, so near to speech, belongs to that: recognisers squeeze the first word of an utterance."""


def find(scene: Scene) -> Iterator[Seen]:
    groups: list[list[HeardWord]] = []
    for word in scene.hearing.words:
        if word.voiced >= VOICED_ENOUGH or _is_mistimed(word, scene):
            continue
        if groups and groups[-1][-1].span.gap_to_ms(word.span) <= TOGETHER_MS:
            groups[-1].append(word)
        else:
            groups.append([word])
    for group in groups:
        span = group[0].span.hull(group[-1].span)
        text = " ".join(word.text for word in group)
        voiced = sum(word.voiced for word in group) / len(group)
        yield Seen(
            kind="stray_text",
            line_id=None,
            pass_id=None,
            span=span,
            confidence=round(min(0.98, 1.0 - voiced), 2),
            says=f"The recogniser wrote {quoted(text)} at {clock(span.start_ms)}, where nobody speaks.",
            evidence=(
                Evidence("text", text),
                Evidence("share of it with speech behind", f"{voiced:.0%}"),
            ),
            choices=(
                Choice("ignore", "Leave the text out of captions and handout."),
                Choice("caption_it", "It was said: use the text."),
            ),
        )


def _is_mistimed(word: HeardWord, scene: Scene) -> bool:
    """Whether the word was said, but a moment later."""
    if word.span.length_ms <= NO_LENGTH_MS and _is_at_speech(word, scene.hearing):
        return True
    return any(_is_first_of(word, reading) for reading in scene.match.readings)


def _is_at_speech(word: HeardWord, hearing: Hearing) -> bool:
    reach = word.span.padded(AT_SPEECH_MS, AT_SPEECH_MS)
    return any(speech.overlap_ms(reach) for speech in hearing.speech)


def _is_first_of(word: HeardWord, reading: Reading) -> bool:
    if not 0 <= reading.span.start_ms - word.span.start_ms <= BESIDE_MS:
        return False
    return wording.spoken(word.text) == tuple(each.text for each in reading.words[: len(wording.spoken(word.text))])
