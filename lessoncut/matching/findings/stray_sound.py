"""A cough, a knock, a page: energy that is not speech, and no sound held for demonstration either."""

from __future__ import annotations

from collections.abc import Iterator

from lessoncut.matching.findings.records import Choice, Evidence
from lessoncut.matching.findings.rule import Scene, Seen
from lessoncut.times import clock, seconds


def find(scene: Scene) -> Iterator[Seen]:
    for sound in (sound for sound in scene.hearing.sounds if not sound.held):
        inside = any(reading.kept and reading.span.overlap_ms(sound.span) for reading in scene.match.readings)
        over_db = sound.peak_db - scene.hearing.floor_db
        cut_out = Choice("cut_out", "Cover it with room tone.")
        leave_in = Choice("leave_in", "Leave it in.")
        yield Seen(
            kind="stray_sound",
            line_id=None,
            pass_id=None,
            span=sound.span,
            confidence=round(min(0.95, 0.5 + over_db / 60), 2),
            says=f"A sound that is not speech at {clock(sound.span.start_ms)}"
            + (", inside a reading that is kept." if inside else "."),
            evidence=(
                Evidence("length", f"{seconds(sound.span.length_ms):.2f} s"),
                Evidence("over the room tone", f"{over_db:.0f} dB"),
            ),
            choices=(leave_in, cut_out) if inside else (cut_out, leave_in),
        )
