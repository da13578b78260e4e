"""Text that the recogniser wrote where nobody speaks."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import zip_longest

from lessoncut.hearing.records import HeardWord, Hearing
from lessoncut.matching.findings.records import Choice, Evidence
from lessoncut.matching.findings.rule import Scene, Seen, quoted
from lessoncut.matching.pieces import VOICED_ENOUGH
from lessoncut.times import clock

TOGETHER_MS = 1500
NO_LENGTH_MS, BESIDE_MS = 60, 120
"""A word so short, so near to speech, belongs to that; and so does one that runs so nearly into a spoken word:
recognisers squeeze the first word of an utterance, or put it before the sound."""


def find(scene: Scene) -> Iterator[Seen]:
    groups: list[list[HeardWord]] = []
    words = scene.hearing.words
    for word, following in zip_longest(words, words[1:]):
        if word.voiced >= VOICED_ENOUGH or _is_mistimed(word, following, scene.hearing):
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


def _is_mistimed(word: HeardWord, following: HeardWord | None, hearing: Hearing) -> bool:
    """Whether the word was said, but a moment later."""
    if following and following.voiced >= VOICED_ENOUGH and word.span.gap_to_ms(following.span) <= BESIDE_MS:
        return True
    reach = word.span.padded(BESIDE_MS, BESIDE_MS)
    return word.span.length_ms <= NO_LENGTH_MS and any(speech.overlap_ms(reach) for speech in hearing.speech)
