"""Script, take, match and effects to the finished programme."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from lessoncut.decisions.records import BUILT_PASS, ChapterChange, Effects
from lessoncut.lesson.items import Making, items_of
from lessoncut.lesson.order import Unit, in_order, with_asides
from lessoncut.lesson.pacing import Pacing
from lessoncut.lesson.records import AsideItem, Chapter, Item, Lesson, LessonPass, LineItem
from lessoncut.lesson.shown import shared_out
from lessoncut.matching.records import Match
from lessoncut.script.records import Script
from lessoncut.take.records import Take
from lessoncut.times import Span, without

ASIDE_BEFORE_MS = 80
ASIDE_AFTER_MS = 120
"""Handles of talk outside the script; its times are coarser than a line's."""


def build(script: Script, take: Take, match: Match, effects: Effects, pacing: Pacing, language: str = "en") -> Lesson:
    """The lesson in the order it plays. ``language`` (BCP 47) is for splitting long lines."""
    passes = _passes(match, effects, pacing)
    kinds = {item.id: item.kind for item in passes}
    slots = [slot for slot in effects.slots if slot.pass_id is None or slot.pass_id in kinds]
    making = Making(script, match, effects, pacing, language)
    places = {line.id: at for at, line in enumerate(script.lines)}
    units = [
        Unit(
            places[slot.line_id],
            slot.pass_id,
            items_of(slot, making, repeat=slot.pass_id is not None and kinds[slot.pass_id] == "repeat"),
        )
        for slot in slots
        if slot.reading_ids
    ]
    lines = [item for unit in in_order(script, match, units) for item in unit.items]
    items = with_asides(lines, _asides(effects, lines, match, take.duration_ms))
    return Lesson(
        title=script.title,
        passes=passes,
        chapters=_chapters(script, passes, items, effects.chapters),
        covers=_covers(effects.covers, items),
        left_out=tuple((slot.line_id, slot.pass_id) for slot in slots if not slot.reading_ids),
    )


def _passes(match: Match, effects: Effects, pacing: Pacing) -> tuple[LessonPass, ...]:
    counts = {"model": 0, "repeat": 0}
    out = []
    for item in match.passes:
        counts[item.kind] += 1
        out.append(LessonPass(item.id, item.kind, counts[item.kind]))
    if pacing.build_repeat and any(slot.pass_id == BUILT_PASS for slot in effects.slots):
        out.append(LessonPass(BUILT_PASS, "repeat", 1, built=True))
    return tuple(out)


def _asides(effects: Effects, lines: Sequence[LineItem], match: Match, duration_ms: int) -> list[AsideItem]:
    """What was kept of talk, unless it plays already as a part of a line."""
    speech = [reading.span for reading in match.readings] + [aside.span for aside in match.asides]
    whole = Span(0, duration_ms)
    out = []
    for aside in effects.asides:
        if any(item.span.overlap_ms(aside.span) for item in lines):
            continue
        before = max((s.end_ms for s in speech if s.end_ms <= aside.span.start_ms), default=0)
        after = min((s.start_ms for s in speech if s.start_ms >= aside.span.end_ms), default=duration_ms)
        room = Span(before, after).hull(aside.span)
        cut = aside.span.padded(ASIDE_BEFORE_MS, ASIDE_AFTER_MS).clipped(room).clipped(whole)
        words = shared_out(aside.span, aside.words) if aside.words else ()
        out.append(AsideItem(None, aside.span, cut, words))
    return out


def _covers(covers: Sequence[Span], items: Sequence[Item]) -> tuple[Span, ...]:
    """Sounds to cover, but never a word that plays."""
    words = [word.span for item in items for word in item.words]
    return tuple(piece for cover in covers for piece in without(cover, (w for w in words if w.overlap_ms(cover))))


# -- chapters ----------------------------------------------------------------------------------------


@dataclass
class _Begun:
    """A chapter in the making. ``hidden``: its items go to its neighbour."""

    section: int | None
    pass_id: str | None
    title: str
    hidden: bool = False
    items: list[Item] = field(default_factory=list)


def _chapters(
    script: Script, passes: Sequence[LessonPass], items: Sequence[Item], changes: Sequence[ChapterChange]
) -> tuple[Chapter, ...]:
    added = {(c.line_id, c.pass_id): c for c in changes if c.line_id is not None and not c.hidden}
    begun: list[_Begun] = []
    for item in items:
        last = begun[-1] if begun else None
        if isinstance(item, AsideItem):
            # Talk belongs to what it follows; before everything else, to what comes next.
            fresh = None if last else _Begun(None, item.pass_id, script.title, hidden=True)
        else:
            fresh = _begun_by(script, passes, item, last, changes)
            mine = added.pop((item.line_id, item.pass_id), None)
            if mine:
                line = script.line(item.line_id)
                fresh = _Begun(line.section, item.pass_id, mine.title or line.text)
        if fresh:
            begun.append(fresh)
        begun[-1].items.append(item)
    return _shown(begun)


def _begun_by(
    script: Script,
    passes: Sequence[LessonPass],
    item: LineItem,
    last: _Begun | None,
    changes: Sequence[ChapterChange],
) -> _Begun | None:
    """The chapter that begins with the item, where its section or its pass is another than before."""
    section = script.line(item.line_id).section
    here = (section, item.pass_id)
    if last and (last.section, last.pass_id) == here:
        return None
    change = next((c for c in changes if c.line_id is None and (c.section, c.pass_id) == here), None)
    title = change.title if change and change.title else _title(script, passes, section, item.pass_id)
    return _Begun(section, item.pass_id, title, hidden=bool(change and change.hidden))


def _title(script: Script, passes: Sequence[LessonPass], section: int, pass_id: str | None) -> str:
    """The section's; with what the learner does where the passage plays more than once."""
    title = script.sections[section].title
    mine = next((item for item in passes if item.id == pass_id), None)
    if mine is None or len(passes) == 1:
        return title
    alike = sum(item.kind == mine.kind for item in passes)
    doing = "listen" if mine.kind == "model" else "repeat"
    return f"{title}: {doing} {mine.nth}" if alike > 1 else f"{title}: {doing}"


def _shown(begun: Sequence[_Begun]) -> tuple[Chapter, ...]:
    """The items of a hidden chapter go to the one before it; before the first that is shown, to that one."""
    shown = [chapter for chapter in begun if not chapter.hidden] or list(begun[:1])
    out: list[_Begun] = [replace(chapter, items=[]) for chapter in shown]
    at = -1
    for chapter in begun:
        at += any(chapter is item for item in shown)
        out[max(at, 0)].items += chapter.items
    return tuple(Chapter(item.title, item.section, item.pass_id, tuple(item.items)) for item in out)
