"""Speech outside the script."""

from __future__ import annotations

from collections.abc import Iterator

from lessoncut import wording
from lessoncut.matching.findings.records import Choice, Evidence
from lessoncut.matching.findings.rule import Scene, Seen, is_noise, quoted
from lessoncut.matching.records import Aside
from lessoncut.script.records import Line
from lessoncut.times import clock, seconds

ECHO = 0.8
"""Likeness from which what is said is the line that was read before it."""


def find(scene: Scene) -> Iterator[Seen]:
    for aside in (aside for aside in scene.match.asides if not is_noise(aside)):
        heard = " ".join(aside.words)
        at = clock(aside.span.start_ms)
        what = f"{quoted(heard)} is said" if heard else "Something that could not be read is said"
        says = f"{what} at {at}; the script does not have it."
        if line := _echoed(scene, aside):
            says = f"{quoted(line.text)} is said once more at {at}, by somebody else as it seems."
        yield Seen(
            kind="ad_lib",
            line_id=None,
            pass_id=None,
            span=aside.span,
            confidence=0.9 if len(aside.words) > 1 else 0.6 if heard else 0.4,
            says=says,
            evidence=(Evidence("length", f"{seconds(aside.span.length_ms):.1f} s"),),
            choices=(
                Choice("leave_out", "Leave it out."),
                Choice("keep", "Keep it in the lesson."),
            ),
        )


def _echoed(scene: Scene, aside: Aside) -> Line | None:
    """The line that was read last, where these are its words: a learner repeats it."""
    before = [each for each in scene.match.readings if each.span.end_ms <= aside.span.start_ms]
    if not before or not aside.words:
        return None
    line = scene.line(before[-1])
    said = [spoken for word in aside.words for spoken in wording.spoken(word)]
    return line if wording.row_likeness(said, line.spoken) >= ECHO else None
