"""A word of a kept line read as another, or said twice; only where the sound, too, supports what was heard."""

from __future__ import annotations

from collections.abc import Iterator

from lessoncut.matching.findings.records import Choice, Evidence
from lessoncut.matching.findings.rule import Scene, Seen, quoted
from lessoncut.times import clock


def find(scene: Scene) -> Iterator[Seen]:
    for reading in scene.match.readings:
        if not reading.kept:
            continue
        for change in reading.changes:
            script, heard = " ".join(change.script), " ".join(change.heard)
            told = f"“{heard}” is heard where the script has “{script}”"
            if change.heard == 2 * change.script:
                told = f"“{script}” is said twice in a row"
            span = reading.words[change.first].span.hull(reading.words[change.last].span)
            yield Seen(
                kind="misread",
                line_id=reading.line_id,
                pass_id=reading.pass_id,
                span=span,
                confidence=change.confidence,
                says=f"In {quoted(scene.line(reading).text)} at {clock(span.start_ms)}, {told}.",
                evidence=(
                    Evidence("script", script),
                    Evidence("heard", heard),
                    Evidence("the sound fits the heard word better by", f"{change.support:.0f} (log score a frame)"),
                ),
                choices=(
                    Choice("as_heard", "Let captions and handout follow what was said.", reading.id),
                    Choice("as_script", "Keep the script's word: it was said."),
                    Choice("leave_out", "Leave this reading out."),
                ),
            )
