"""A line read in full more than once in the same pass: one finding for each reading that is not kept."""

from __future__ import annotations

from collections.abc import Iterator

from lessoncut.matching.findings.records import Choice, Evidence
from lessoncut.matching.findings.rule import Scene, Seen, quoted
from lessoncut.times import clock, seconds


def find(scene: Scene) -> Iterator[Seen]:
    for reading in scene.match.readings:
        if reading.kind != "full" or reading.kept:
            continue
        kept = scene.match.kept(reading.line_id, reading.pass_id)
        if kept is None:
            continue
        text = quoted(scene.line(reading).text)
        where = scene.pass_name(reading.pass_id)
        yield Seen(
            kind="repeated_line",
            line_id=reading.line_id,
            pass_id=reading.pass_id,
            span=reading.span,
            confidence=min(reading.confidence, kept.confidence),
            says=f"{text} is read more than once in {where}: at {clock(reading.span.start_ms)}, "
            f"and last at {clock(kept.span.start_ms)}.",
            evidence=(
                Evidence("this reading", f"{seconds(reading.span.length_ms):.2f} s"),
                Evidence("the last reading", f"{seconds(kept.span.length_ms):.2f} s"),
            ),
            choices=(
                Choice("keep_last", "Keep the last reading and leave this one out.", kept.id),
                Choice("keep_earlier", "Keep this reading instead of the last one.", reading.id),
                Choice("keep_both", "Keep both: the repetition is meant."),
            ),
        )
