"""Speech outside the script."""

from __future__ import annotations

from collections.abc import Iterator

from lessoncut.matching.findings.records import Choice, Evidence
from lessoncut.matching.findings.rule import Scene, Seen, is_noise, quoted
from lessoncut.times import clock, seconds


def find(scene: Scene) -> Iterator[Seen]:
    for aside in (aside for aside in scene.match.asides if not is_noise(aside)):
        heard = " ".join(aside.words)
        what = f"{quoted(heard)} is said" if heard else "Something that could not be read is said"
        yield Seen(
            kind="ad_lib",
            line_id=None,
            pass_id=None,
            span=aside.span,
            confidence=0.9 if len(aside.words) > 1 else 0.6 if heard else 0.4,
            says=f"{what} at {clock(aside.span.start_ms)}; the script does not have it.",
            evidence=(Evidence("length", f"{seconds(aside.span.length_ms):.1f} s"),),
            choices=(
                Choice("leave_out", "Leave it out."),
                Choice("keep", "Keep it in the lesson."),
            ),
        )
