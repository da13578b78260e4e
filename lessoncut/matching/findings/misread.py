"""A word of a kept line read as another, left out, put in, swapped with its neighbour or said twice; only where the
sound, too, supports what was heard."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lessoncut.matching.findings.records import Choice, Evidence
from lessoncut.matching.findings.rule import Scene, Seen, quoted
from lessoncut.matching.records import Change
from lessoncut.times import clock


def find(scene: Scene) -> Iterator[Seen]:
    for reading in scene.match.readings:
        if not reading.kept:
            continue
        for change in reading.changes:
            script, heard = " ".join(change.script), " ".join(change.heard)
            span = reading.words[change.first].span.hull(reading.words[change.last].span)
            yield Seen(
                kind="misread",
                line_id=reading.line_id,
                pass_id=reading.pass_id,
                span=span,
                confidence=change.confidence,
                says=f"In {quoted(scene.line(reading).text)} at {clock(span.start_ms)}, {_told(change)}.",
                evidence=(Evidence("script", script), Evidence("heard", heard), *_support(change)),
                choices=(
                    Choice("as_heard", "Let captions and handout follow what was said.", reading.id),
                    Choice("as_script", "Keep the script's word: it was said."),
                    Choice("leave_out", "Leave this reading out."),
                ),
            )


def _support(change: Change) -> Iterator[Evidence]:
    if change.support:
        yield Evidence("the sound fits the heard word better by", f"{change.support:.0f} (log score a frame)")


def _told(change: Change) -> str:
    script, heard = " ".join(change.script), " ".join(change.heard)
    if change.heard == 2 * change.script:
        return f"“{script}” is said twice in a row"
    if lost := _all_but(change.script, change.heard):
        return f"“{lost}” is left out"
    if more := _all_but(change.heard, change.script):
        return f"“{more}” is put in"
    return f"“{heard}” is heard where the script has “{script}”"


def _all_but(words: Sequence[str], others: Sequence[str]) -> str:
    """The words without these others, where they stand before or behind them; else nothing."""
    if others and len(words) > len(others):
        more = len(words) - len(others)
        if words[more:] == others:
            return " ".join(words[:more])
        if words[:-more] == others:
            return " ".join(words[-more:])
    return ""
