"""A line of the script with no full reading where one belongs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lessoncut.matching.findings.records import Choice, Evidence
from lessoncut.matching.findings.rule import Scene, Seen, quoted
from lessoncut.matching.records import Pass, Reading
from lessoncut.script.records import Line
from lessoncut.times import Span, clock, seconds


def find(scene: Scene) -> Iterator[Seen]:
    for item in scene.match.passes:
        readings = [reading for reading in scene.match.readings if reading.pass_id == item.id]
        inside = [reading for reading in readings if reading.span.overlap_ms(item.span)]  # not what was picked up later
        for line in scene.script.passage:
            if not _read(line, readings):
                yield _dropped(scene, line, item, inside)
    outside = [reading for reading in scene.match.readings if reading.pass_id is None]
    for line in scene.script.lines:
        if not line.in_passage and not _read(line, outside):
            yield _dropped(scene, line, None, scene.match.readings)
    if not scene.match.passes:
        for line in scene.script.passage:
            yield _dropped(scene, line, None, scene.match.readings)


def _read(line: Line, readings: Sequence[Reading]) -> bool:
    return any(reading.line_id == line.id and reading.kind == "full" for reading in readings)


def _place(scene: Scene, line: Line, readings: Sequence[Reading]) -> Span:
    """Where the line should have stood: between its neighbours in the script."""
    order = {other.id: at for at, other in enumerate(scene.script.lines)}
    here = order[line.id]
    full = [reading for reading in readings if reading.kind == "full"]
    before = [reading.span.end_ms for reading in full if order[reading.line_id] < here]
    after = [reading.span.start_ms for reading in full if order[reading.line_id] > here]
    if before and after:
        start_ms = max((at for at in before if at <= max(after)), default=min(after))
        return Span(start_ms, min((at for at in after if at >= start_ms), default=start_ms))
    if before:
        at_ms = max(before)
        return Span(at_ms, _next_start_ms(scene, at_ms))
    if after:
        at_ms = min(after)
        return Span(_last_end_ms(scene, at_ms), at_ms)
    return Span(0, scene.hearing.duration_ms)


def _next_start_ms(scene: Scene, at_ms: int) -> int:
    starts = [reading.span.start_ms for reading in scene.match.readings if reading.span.start_ms >= at_ms]
    return min(starts, default=scene.hearing.duration_ms)


def _last_end_ms(scene: Scene, at_ms: int) -> int:
    return max((reading.span.end_ms for reading in scene.match.readings if reading.span.end_ms <= at_ms), default=0)


def _dropped(scene: Scene, line: Line, item: Pass | None, readings: Sequence[Reading]) -> Seen:
    pass_id = item.id if item else None
    place = _place(scene, line, readings)
    unread = [aside for aside in scene.match.asides if aside.span.overlap_ms(place) and not aside.words]
    speech_ms = sum(aside.span.overlap_ms(place) for aside in unread)
    others = [other for other in scene.match.passes if pass_id and other.id != pass_id]
    lenders = [kept for other in others if (kept := scene.match.kept(line.id, other.id))]
    borrow = tuple(
        Choice("borrow", f"Borrow it from {scene.pass_name(kept.pass_id)}, at {clock(kept.span.start_ms)}.", kept.id)
        for kept in lenders[:1]
    )
    heard = f"{seconds(speech_ms):.1f} s of speech that nobody could read" if speech_ms else "no other speech"
    where = scene.pass_name(pass_id) if pass_id else "the take"
    return Seen(
        kind="dropped_line",
        line_id=line.id,
        pass_id=pass_id,
        span=place,
        confidence=0.6 if speech_ms > 400 else 0.97,
        says=f"{quoted(line.text)} is missing from {where}; it should stand at {clock(place.start_ms)}.",
        evidence=(Evidence("in its place", heard),),
        choices=(
            *borrow,
            Choice("leave_out", "Go on without it."),
            Choice("pick_up", "Record it again and add the pick-up; until then it is left out."),
        ),
    )
