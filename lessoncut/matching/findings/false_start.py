"""A line begun and broken off."""

from __future__ import annotations

from collections.abc import Iterator

from lessoncut.matching.findings.records import Choice, Evidence
from lessoncut.matching.findings.rule import Scene, Seen, quoted
from lessoncut.times import clock, seconds


def find(scene: Scene) -> Iterator[Seen]:
    for reading in scene.match.readings:
        if reading.kind != "partial":
            continue
        said = " ".join(word.text for word in reading.words)
        yield Seen(
            kind="false_start",
            line_id=reading.line_id,
            pass_id=reading.pass_id,
            span=reading.span,
            confidence=reading.confidence,
            says=f"{quoted(scene.line(reading).text)} is begun and broken off at "
            f"{clock(reading.span.start_ms)} in {scene.pass_name(reading.pass_id)}.",
            evidence=(
                Evidence("said before it breaks off", said),
                Evidence("length", f"{seconds(reading.span.length_ms):.2f} s"),
            ),
            choices=(
                Choice("cut_out", "Cut the broken-off start out."),
                Choice("leave_in", "Leave it in.", reading.id),
            ),
        )
