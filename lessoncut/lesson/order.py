"""The order in which the lesson's parts play.

A pass plays as a block, its lines in script order, so that a line read again later stands where it belongs. Passes
come in the order of the take. Lines outside the passage come in script order, and those that the take has in that
order say where the passes stand among them; the others are patches, put in by the script.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass

from lessoncut.decisions.records import BUILT_PASS
from lessoncut.lesson.records import AsideItem, Item, LineItem
from lessoncut.matching.records import Match
from lessoncut.script.records import Script


@dataclass(frozen=True)
class Unit:
    """A line in its pass, with all that plays of it; ``place`` is the line's index in the script."""

    place: int
    pass_id: str | None
    items: tuple[LineItem, ...]

    @property
    def start_ms(self) -> int:
        return self.items[0].span.start_ms

    @property
    def patched(self) -> bool:
        return self.items[0].source != "take"


@dataclass(frozen=True)
class _Block:
    """A whole pass, or one line outside the passage. ``place`` is None for a pass."""

    at_ms: int
    place: int | None
    units: tuple[Unit, ...]


def in_order(script: Script, match: Match, units: Sequence[Unit]) -> tuple[Unit, ...]:
    """Every unit once; units without items are not asked for."""
    outside = sorted((unit for unit in units if unit.pass_id is None), key=lambda unit: unit.place)
    steady = _steady([unit for unit in outside if not unit.patched])
    blocks = [_Block(unit.start_ms, unit.place, (unit,)) for unit in steady]
    blocks += _passes(match, units)
    blocks.sort(key=lambda block: block.at_ms)
    passage = [at for at, line in enumerate(script.lines) if line.in_passage]
    for unit in outside:
        if unit not in steady:
            blocks.insert(_patch_place(blocks, unit.place, passage), _Block(unit.start_ms, unit.place, (unit,)))
    return tuple(unit for block in blocks for unit in block.units)


def _passes(match: Match, units: Sequence[Unit]) -> list[_Block]:
    starts = {item.id: item.span.start_ms for item in match.passes}
    models = [item.span for item in match.passes if item.kind == "model"]
    if models:
        # Right after the model reading: nothing of the take starts inside it.
        starts[BUILT_PASS] = models[0].start_ms
    blocks = []
    for pass_id, start_ms in starts.items():
        mine = sorted((unit for unit in units if unit.pass_id == pass_id), key=lambda unit: unit.place)
        if mine:
            blocks.append(_Block(start_ms, None, tuple(mine)))
    return blocks


def _steady(units: Sequence[Unit]) -> list[Unit]:
    """The longest run of units, given in script order, that the take has in the same order."""
    ends: list[int] = []
    best: list[int] = []
    before: list[int | None] = []
    for at, unit in enumerate(units):
        length = bisect_left(ends, unit.start_ms)
        before.append(best[length - 1] if length else None)
        ends[length : length + 1] = [unit.start_ms]
        best[length : length + 1] = [at]
    run: list[Unit] = []
    last = best[-1] if best else None
    while last is not None:
        run.append(units[last])
        last = before[last]
    return run[::-1]


def _patch_place(blocks: Sequence[_Block], place: int, passage: Sequence[int]) -> int:
    """Where the script has a line that the take has elsewhere: after the line before it, or before the one after."""
    earlier = [at for at, block in enumerate(blocks) if block.place is not None and block.place < place]
    later = [at for at, block in enumerate(blocks) if block.place is not None and block.place > place]
    before = blocks[earlier[-1]].place if earlier else -1
    assert before is not None
    if not any(before < line < place for line in passage):
        return earlier[-1] + 1 if earlier else 0
    if later:
        following = blocks[later[0]].place
        assert following is not None
        if not any(place < line < following for line in passage):
            return later[0]
    passes = [at for at, block in enumerate(blocks) if block.place is None]
    return max([*passes, *earlier], default=-1) + 1


def with_asides(items: Sequence[Item], asides: Sequence[AsideItem]) -> tuple[Item, ...]:
    """Talk goes after the last thing that plays before it in the take, or else before the first."""
    out = list(items)
    for aside in asides:
        own = [(at, item) for at, item in enumerate(out) if isinstance(item, AsideItem) or item.source == "take"]
        before = [(item.span.end_ms, at) for at, item in own if item.span.end_ms <= aside.span.start_ms]
        after = [(item.span.start_ms, at) for at, item in own if item.span.start_ms >= aside.span.end_ms]
        at = max(before)[1] + 1 if before else min(after)[1] if after else len(out)
        host = out[at - 1] if before else out[at] if after else None
        pass_id = host.pass_id if host else None
        out.insert(at, AsideItem(pass_id, aside.span, aside.cut, aside.words))
    return tuple(out)
