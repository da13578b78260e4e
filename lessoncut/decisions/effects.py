"""What findings and decisions change about the lesson. An undecided finding has the effect of its first choice."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from lessoncut.decisions.records import (
    BUILT_PASS,
    Applied,
    ChapterChange,
    Effects,
    KeptAside,
    LineGap,
    MovedEdges,
    Resolved,
    Slot,
    SlotSource,
    Wording,
)
from lessoncut.decisions.subjects import is_built
from lessoncut.matching.findings.records import Choice, Finding, FindingKind
from lessoncut.matching.records import Aside, Match, Reading
from lessoncut.script.records import Script
from lessoncut.times import Span

Key = tuple[str, str | None]
"""Line id and pass id."""


def effects(resolved: Resolved, script: Script, match: Match, pick_ups: Sequence[Span] = ()) -> Effects:
    """``pick_ups`` are the take spans of the pick-up files: their readings fill lines that are missing."""
    draft = _Draft(script, match, tuple(pick_ups))
    for item in resolved.settled:
        if item.decision is None:
            draft.settle(item.finding, item.finding.choices[0], decided=False)
    in_turn = sorted(resolved.applied, key=lambda item: item.decision.number)
    for applied in in_turn:
        if applied.pass_id != BUILT_PASS:
            draft.apply(applied)
    draft.build_repeat()
    for applied in in_turn:
        if applied.pass_id == BUILT_PASS:
            draft.apply(applied)
    return draft.finished()


@dataclass
class _Filled:
    readings: list[str] = field(default_factory=list)
    source: SlotSource = "take"


class _Draft:
    """Effects in the making: starts from what the match keeps, then takes findings and decisions in turn."""

    def __init__(self, script: Script, match: Match, pick_ups: tuple[Span, ...]) -> None:
        self.match = match
        self.pick_ups = pick_ups
        self.reading_of = {reading.id: reading for reading in match.readings}
        self.slots = {key: _Filled() for key in self._keys(script)}
        self.asides = {aside.span: KeptAside(aside.span, ()) for aside in match.asides if aside.held}
        self.talk_out: dict[Span, None] = {aside.span: None for aside in match.asides if not aside.held}
        self.starts_out: dict[Span, None] = {}
        self.covers: dict[Span, None] = {}
        self.cuts: dict[str, Span] = {}
        self.gaps: dict[str, int] = {}
        self.wordings: dict[str, Wording] = {}
        self.chapters: dict[tuple[int | None, str | None, str | None], ChapterChange] = {}
        self._fill()

    # -- what the match keeps ------------------------------------------------------------------------

    def _keys(self, script: Script) -> list[Key]:
        passes = [item.id for item in self.match.passes]
        if is_built(self.match):
            passes.append(BUILT_PASS)
        return [
            (line.id, pass_id)
            for line in script.lines
            for pass_id in (passes if line.in_passage and passes else [None])
        ]

    def _fill(self) -> None:
        for reading in self.match.readings:
            slot = self.slots.get((reading.line_id, reading.pass_id))
            if reading.kept and slot:
                slot.readings = [reading.id]
        later = {r.line_id: r for r in self.match.readings if r.kind == "full" and self._is_pick_up(r)}
        for (line_id, pass_id), slot in self.slots.items():
            if not slot.readings and line_id in later and pass_id != BUILT_PASS:
                slot.readings, slot.source = [later[line_id].id], "picked_up"

    def _is_pick_up(self, reading: Reading) -> bool:
        return any(span.overlap_ms(reading.span) for span in self.pick_ups)

    def build_repeat(self) -> None:
        """The built repeat pass says what the model reading says, once."""
        model = next((item.id for item in self.match.passes), None)
        for (line_id, pass_id), slot in self.slots.items():
            if pass_id == BUILT_PASS:
                full = [name for name in self.slots[line_id, model].readings if self.reading_of[name].kind == "full"]
                slot.readings, slot.source = full[-1:], "built"

    # -- findings ------------------------------------------------------------------------------------

    def settle(self, finding: Finding, choice: Choice, *, decided: bool) -> None:
        """The effect of one choice. A suggestion (not ``decided``) never empties a line that a pick-up has filled."""
        _SETTLERS[finding.kind](self, finding, choice, decided)

    def _repeated_line(self, finding: Finding, choice: Choice, _: bool) -> None:
        slot = self._slot(finding)
        earlier = self._named(finding, "keep_earlier") or self._reading_at(finding)
        if slot is None or earlier is None:
            return
        if choice.name == "keep_earlier":
            slot.readings, slot.source = [earlier], "take"
        elif choice.name == "keep_both":
            slot.readings = self._in_order({*slot.readings, earlier})
        else:
            others = [name for name in slot.readings if name != earlier]
            kept = self.match.kept(finding.line_id or "", finding.pass_id)
            slot.readings = others or ([kept.id] if kept else [])

    def _false_start(self, finding: Finding, choice: Choice, _: bool) -> None:
        slot = self._slot(finding)
        reading = self._named(finding, "leave_in") or self._reading_at(finding, "partial")
        self.starts_out.pop(finding.span, None)
        if choice.name == "cut_out":
            self.starts_out[finding.span] = None
        elif slot is not None and reading is not None:
            slot.readings = self._in_order({*slot.readings, reading})

    def _dropped_line(self, finding: Finding, choice: Choice, decided: bool) -> None:
        slot = self._slot(finding)
        if slot is None or (slot.readings and not decided):
            return
        if choice.name == "borrow":
            lent = choice.reading_id or self._lender(finding)
            if lent in self.reading_of:
                slot.readings, slot.source = [lent], self._source(lent, finding.pass_id)
        elif choice.name == "leave_out" or slot.source != "picked_up":
            slot.readings = []

    def _misread(self, finding: Finding, choice: Choice, _: bool) -> None:
        reading_id = self._named(finding, "as_heard") or self._reading_at(finding)
        if reading_id is None:
            return
        if choice.name == "leave_out":
            for slot in self.slots.values():
                slot.readings = [name for name in slot.readings if name != reading_id]
        elif choice.name == "as_heard":
            reading = self.reading_of[reading_id]
            words = reading.words
            here = tuple(
                change
                for change in reading.changes
                if words[change.first].span.hull(words[change.last].span).overlap_ms(finding.span)
            )
            before = self.wordings.get(reading_id, Wording(reading_id))
            both = sorted({*before.changes, *here}, key=lambda change: change.first)
            self.wordings[reading_id] = Wording(reading_id, before.text, tuple(both))

    def _ad_lib(self, finding: Finding, choice: Choice, _: bool) -> None:
        aside = max(self.match.asides, key=lambda item: item.span.overlap_ms(finding.span), default=None)
        if aside and aside.span.overlap_ms(finding.span):
            self._talk(aside, keep=choice.name == "keep")

    def _stray_text(self, finding: Finding, choice: Choice, _: bool) -> None:
        self.asides.pop(finding.span, None)
        text = next((item.value for item in finding.evidence if item.name == "text"), "")
        if choice.name == "caption_it" and text:
            self.asides[finding.span] = KeptAside(finding.span, tuple(text.split()))

    def _stray_sound(self, finding: Finding, choice: Choice, _: bool) -> None:
        self.covers.pop(finding.span, None)
        if choice.name == "cut_out":
            self.covers[finding.span] = None

    # -- the teacher's own hand ----------------------------------------------------------------------

    def apply(self, applied: Applied) -> None:
        """The effect of one decision that was found again."""
        decision = applied.decision
        if applied.finding:
            self.settle(applied.finding, self._chosen(applied, applied.finding), decided=True)
        elif decision.subject.kind == "slot":
            self._set_slot(applied)
        elif decision.subject.kind == "edge":
            self._move_edge(applied)
        elif decision.subject.kind == "caption" and applied.reading_id:
            self._reword(applied.reading_id, decision.value)
        elif decision.subject.kind == "gap" and applied.line_id:
            self.gaps.pop(applied.line_id, None)
            if decision.choice == "set" and isinstance(decision.value, int):
                self.gaps[applied.line_id] = decision.value
        elif decision.subject.kind == "aside" and applied.aside:
            aside = next(item for item in self.match.asides if item.span == applied.aside)
            self._talk(aside, keep=decision.choice == "keep")
        elif decision.subject.kind == "chapter":
            self._change_chapter(applied)

    def _chosen(self, applied: Applied, finding: Finding) -> Choice:
        alike = [choice for choice in finding.choices if choice.name == applied.decision.choice]
        meant = [choice for choice in alike if applied.reading_id and choice.reading_id == applied.reading_id]
        return (meant or alike)[0]

    def _set_slot(self, applied: Applied) -> None:
        slot = self.slots.get((applied.line_id or "", applied.pass_id))
        if slot is None:
            return
        slot.readings = []
        if applied.reading_id:
            slot.readings, slot.source = [applied.reading_id], self._source(applied.reading_id, applied.pass_id)

    def _move_edge(self, applied: Applied) -> None:
        assert applied.reading_id
        own = self.reading_of[applied.reading_id].cut
        cut = self.cuts.get(applied.reading_id, own)
        at_ms = applied.decision.value if applied.decision.choice == "move" else None
        if applied.decision.subject.edge == "start":
            cut = Span(at_ms if isinstance(at_ms, int) else own.start_ms, cut.end_ms)
        else:
            cut = Span(cut.start_ms, at_ms if isinstance(at_ms, int) else own.end_ms)
        self.cuts[applied.reading_id] = cut

    def _reword(self, reading_id: str, value: str | int | None) -> None:
        before = self.wordings.get(reading_id, Wording(reading_id))
        self.wordings[reading_id] = Wording(reading_id, value if isinstance(value, str) else None, before.changes)

    def _change_chapter(self, applied: Applied) -> None:
        key = (applied.section, applied.line_id, applied.pass_id)
        before = self.chapters.get(key, ChapterChange(*key, title=None))
        value, choice = applied.decision.value, applied.decision.choice
        title = value if isinstance(value, str) else before.title
        hidden = choice == "hide" if choice in ("hide", "show") else before.hidden
        self.chapters[key] = ChapterChange(*key, title, hidden)
        if choice == "remove":
            del self.chapters[key]

    # -- shared --------------------------------------------------------------------------------------

    def _talk(self, aside: Aside, *, keep: bool) -> None:
        self.asides.pop(aside.span, None)
        self.talk_out.pop(aside.span, None)
        if keep:
            self.asides[aside.span] = KeptAside(aside.span, aside.words)
        else:
            self.talk_out[aside.span] = None

    def _slot(self, finding: Finding) -> _Filled | None:
        return self.slots.get((finding.line_id or "", finding.pass_id))

    def _named(self, finding: Finding, choice: str) -> str | None:
        named = next((item.reading_id for item in finding.choices if item.name == choice), None)
        return named if named in self.reading_of else None

    def _reading_at(self, finding: Finding, kind: str | None = None) -> str | None:
        alike = [
            reading
            for reading in self.match.readings
            if (reading.line_id, reading.pass_id) == (finding.line_id, finding.pass_id)
            and kind in (None, reading.kind)
            and reading.span.overlap_ms(finding.span)
        ]
        return max(alike, key=lambda item: item.span.overlap_ms(finding.span)).id if alike else None

    def _lender(self, finding: Finding) -> str | None:
        lenders = (self.match.kept(finding.line_id or "", item.id) for item in self.match.passes)
        return next((reading.id for reading in lenders if reading), None)

    def _source(self, reading_id: str, pass_id: str | None) -> SlotSource:
        reading = self.reading_of[reading_id]
        if pass_id == BUILT_PASS:
            return "built"
        if reading.pass_id == pass_id:
            return "take"
        return "picked_up" if self._is_pick_up(reading) else "borrowed"

    def _in_order(self, names: set[str]) -> list[str]:
        return sorted(names, key=lambda name: self.reading_of[name].span)

    def finished(self) -> Effects:
        playing = [self.reading_of[name] for slot in self.slots.values() for name in slot.readings]
        # Outside what plays there is nothing to cut out of.
        out = {span for span in (*self.starts_out, *self.talk_out) if any(r.span.overlap_ms(span) for r in playing)}
        own = {reading.span for reading in playing}
        return Effects(
            slots=tuple(Slot(*key, tuple(slot.readings), slot.source) for key, slot in self.slots.items()),
            asides=tuple(sorted(self.asides.values(), key=lambda aside: aside.span)),
            cut_outs=tuple(sorted(out - own)),
            covers=tuple(sorted(self.covers)),
            edges=tuple(
                MovedEdges(name, cut) for name, cut in sorted(self.cuts.items()) if cut != self.reading_of[name].cut
            ),
            gaps=tuple(LineGap(line_id, gap_ms) for line_id, gap_ms in sorted(self.gaps.items())),
            wordings=tuple(w for _, w in sorted(self.wordings.items()) if w.text is not None or w.changes),
            chapters=tuple(self.chapters.values()),
        )


_SETTLERS: dict[FindingKind, Callable[[_Draft, Finding, Choice, bool], None]] = {
    "repeated_line": _Draft._repeated_line,
    "false_start": _Draft._false_start,
    "dropped_line": _Draft._dropped_line,
    "misread": _Draft._misread,
    "ad_lib": _Draft._ad_lib,
    "stray_text": _Draft._stray_text,
    "stray_sound": _Draft._stray_sound,
}
