"""Decisions against a told take."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from lessoncut.decisions.effects import effects
from lessoncut.decisions.log import Log, decide
from lessoncut.decisions.records import Effects, Entry, Resolved, Slot, Subject
from lessoncut.decisions.resolve import resolve
from lessoncut.decisions.subjects import about_finding
from lessoncut.hearing.records import HeardWord, Hearing, Sound
from lessoncut.matching.findings import find
from lessoncut.matching.findings.records import Finding
from lessoncut.matching.records import Match
from lessoncut.script.records import Script
from lessoncut.times import Span
from tests.lesson.telling import MARKET, told

AT = "2026-11-25T12:00:00Z"
MISHAPS = """
    L001 -  1000 2200
    L002 -  2900 4300
    talk 4700 5400 water please
    model P1 6000 13000
    L003 P1 6000 7800
    L004 P1 8300 8700 partial 2
    L004 P1 9000 10200
    L005 P1 10900 13000
    repeat P2 15000 31000
    L003 P2 15000 16900
    L003 P2 18000 19900
    L005 P2 26000 28300
    L006 -  33000 33900
"""
"""Talk, a broken-off start in the model reading, a line twice in the repeat pass and one missing there."""


class Scene:
    """One analysis, and decisions made about it in turn."""

    def __init__(self, text: str = MISHAPS, *, script: Script = MARKET, match: Match | None = None) -> None:
        self.script = script
        self.match = match or told(script, text)
        self.words: tuple[HeardWord, ...] = ()
        self.sounds: tuple[Sound, ...] = ()
        self.entries: list[Entry] = []
        self.pick_ups: tuple[Span, ...] = ()

    @property
    def findings(self) -> tuple[Finding, ...]:
        hearing = Hearing(80_000, "en", "told", (), self.words, self.sounds, -70.0, -20.0)
        talk = tuple(aside for aside in self.match.asides if not aside.held)  # demonstrations join the match later
        return find(self.script, hearing, replace(self.match, asides=talk))

    def finding(self, kind: str, nth: int = 0) -> Finding:
        return [finding for finding in self.findings if finding.kind == kind][nth]

    def decide(
        self, subject: Subject | Finding, choice: str, value: str | int | None = None, reading: Span | None = None
    ) -> Scene:
        if isinstance(subject, Finding):
            subject = about_finding(subject, self.script, self.match)
        self.entries.append(decide(self.entries, AT, subject, choice, value, reading))
        return self

    def analysed_again(self, match: Match, script: Script | None = None) -> Scene:
        """The same decisions against another analysis."""
        again = Scene(script=script or self.script, match=match)
        again.entries = self.entries
        again.words, again.sounds = self.words, self.sounds
        return again

    @property
    def resolved(self) -> Resolved:
        return resolve(Log(tuple(self.entries)).current, self.script, self.match, self.findings)

    @property
    def effects(self) -> Effects:
        return effects(self.resolved, self.script, self.match, self.pick_ups)

    def slot(self, line_id: str, pass_id: str | None) -> Slot:
        return next(s for s in self.effects.slots if (s.line_id, s.pass_id) == (line_id, pass_id))

    def read(self, line_id: str, pass_id: str | None) -> tuple[int, ...]:
        """Where the readings that play for that line start, in ms."""
        starts = {reading.id: reading.span.start_ms for reading in self.match.readings}
        return tuple(starts[name] for name in self.slot(line_id, pass_id).reading_ids)


def renumbered(match: Match, shift_ms: int = 0, ids: Sequence[str] | None = None) -> Match:
    """The same take as another analysis might tell it: other ids, and times a little off."""
    names = ids or [f"X{900 - at}" for at in range(len(match.readings))]

    def moved(span: Span) -> Span:
        return Span(span.start_ms + shift_ms, span.end_ms + shift_ms)

    return replace(
        match,
        passes=tuple(replace(item, id=f"pass-{item.id}", span=moved(item.span)) for item in match.passes),
        readings=tuple(
            replace(
                reading,
                id=name,
                pass_id=reading.pass_id and f"pass-{reading.pass_id}",
                span=moved(reading.span),
                cut=moved(reading.cut),
                words=tuple(replace(word, span=moved(word.span)) for word in reading.words),
            )
            for reading, name in zip(match.readings, names, strict=True)
        ),
        asides=tuple(replace(aside, span=moved(aside.span)) for aside in match.asides),
    )
