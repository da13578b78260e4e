"""Text that the recogniser wrote where nobody speaks."""

from __future__ import annotations

from collections.abc import Iterator

from lessoncut.hearing.records import HeardWord
from lessoncut.matching.findings.records import Choice, Evidence
from lessoncut.matching.findings.rule import Scene, Seen, quoted
from lessoncut.matching.pieces import VOICED_ENOUGH
from lessoncut.times import clock

TOGETHER_MS = 1500


def find(scene: Scene) -> Iterator[Seen]:
    groups: list[list[HeardWord]] = []
    for word in scene.hearing.words:
        if word.voiced >= VOICED_ENOUGH:
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
