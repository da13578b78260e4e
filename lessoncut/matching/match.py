"""From script, hearing and sound to what happened: passes, readings, and speech outside the script."""

from __future__ import annotations

from collections.abc import Sequence, Set
from dataclasses import dataclass, replace

from lessoncut.hearing import edges
from lessoncut.hearing.cuts import cut_points
from lessoncut.hearing.records import Hearing
from lessoncut.matching.attempts import Attempt, Settled
from lessoncut.matching.fillers import words_read
from lessoncut.matching.ground import Ground, past_breath
from lessoncut.matching.joints import parted_where_quiet
from lessoncut.matching.likelier import wider
from lessoncut.matching.passes import Spoken, Stretch, split_passes
from lessoncut.matching.records import Aside, Match, Pass, Reading, ReadWord
from lessoncut.matching.settle import settle
from lessoncut.matching.tails import without_tails
from lessoncut.script.records import Script
from lessoncut.take.levels import Levels, quietest_ms
from lessoncut.times import Span, SpanIndex, merged

FADED_MS = 120
"""A breath has faded out so shortly after the last of it that stands out."""


@dataclass(frozen=True)
class _Placed:
    """An attempt and the pass it belongs to."""

    attempt: Attempt
    pass_id: str | None


def match(ground: Ground, levels: Levels) -> Match:
    """What happened in the take."""
    script, hearing = ground.script, ground.hearing
    settled = without_tails(settle(ground), levels, hearing.floor_db)
    passes, placed = _in_passes(ground, settled)
    readings = _readings(script, hearing, levels, placed, settled)
    asides = tuple(Aside(talk.span, words_read(talk)) for talk in settled.unscripted)
    read = {reading.line_id for reading in readings if reading.kind == "full"}
    share = len(read) / len(script.lines) if script.lines else 0.0
    return Match(passes, readings, asides, share)


def _in_passes(ground: Ground, settled: Settled) -> tuple[tuple[Pass, ...], list[_Placed]]:
    place_of = {index: place for place, index in enumerate(ground.passage)}
    inside = [at for at, attempt in enumerate(settled.attempts) if attempt.line in place_of]
    spoken = [
        Spoken(place_of[settled.attempts[at].line], settled.attempts[at].full, _pause_after_ms(ground, settled, at))
        for at in inside
    ]
    stretches = split_passes(spoken, len(place_of))
    pass_of: dict[int, str] = {}
    passes = []
    for number, stretch in enumerate(stretches, start=1):
        members = inside[stretch.first : stretch.last + 1]
        passes.append(Pass(f"P{number}", stretch.kind, _pass_span(settled, members)))
        pass_of.update(dict.fromkeys(members, f"P{number}"))
    changed = [bool(settled.attempts[at].changes) for at in inside]
    pass_of.update(_pick_ups(stretches, inside, spoken, changed))
    placed = [_Placed(attempt, pass_of.get(at)) for at, attempt in enumerate(settled.attempts)]
    return tuple(passes), placed


def _pause_after_ms(ground: Ground, settled: Settled, at: int) -> int | None:
    """Up to the next attempt, from the last speech of this one: in a live room its words are laid too short."""
    near = settled.attempts[max(0, at - 1) : at + 3]
    spans = [wider(ground, near, attempt.span) for attempt in settled.attempts[at : at + 2]]
    return spans[0].gap_to_ms(spans[1]) if len(spans) > 1 else None


def _pass_span(settled: Settled, members: Sequence[int]) -> Span:
    """From the first reading to the last one before the take leaves the passage for good.

    A line picked up after the ending belongs to the pass, yet the pass ended before.
    """
    last = members[0]
    for member in members:
        if member - last > 1:
            break
        last = member
    return settled.attempts[members[0]].span.hull(settled.attempts[last].span)


def _pick_ups(
    stretches: Sequence[Stretch], inside: Sequence[int], spoken: Sequence[Spoken], changed: Sequence[bool]
) -> dict[int, str]:
    """Lines read again after the ending patch the pass that lacks them, where just one does; where none does, the one
    that has them with other words only; where none does so either, the one that they have patched before. What is
    begun of them before they are read belongs where they do."""
    if len(stretches) < 2:
        return {}
    before = [[at for at in range(s.first, s.last + 1) if not _after_the_end(inside, s, at)] for s in stretches]
    full = [{spoken[at].place for at in members if spoken[at].full} for members in before]
    right = [{spoken[at].place for at in members if spoken[at].full and not changed[at]} for members in before]
    last = stretches[-1]
    patched = {}
    latest: dict[int, int] = {}
    for at in range(last.first, last.last + 1):
        place = spoken[at].place
        if not (spoken[at].full and _after_the_end(inside, last, at)):
            continue
        lacking = _without(full, place) or _without(right, place) or ([latest[place]] if place in latest else [])
        if len(lacking) == 1:
            (number,) = lacking
            latest[place] = number
            full[number - 1].add(place)
            if not changed[at]:
                right[number - 1].add(place)
            patched[inside[at]] = f"P{number}"
    for at in range(last.last - 1, last.first - 1, -1):
        begins = not spoken[at].full and spoken[at].place == spoken[at + 1].place
        if begins and inside[at + 1] in patched and _after_the_end(inside, last, at):
            patched[inside[at]] = patched[inside[at + 1]]
    return patched


def _without(places: Sequence[Set[int]], place: int) -> list[int]:
    """The numbers of the passes whose places it is none of."""
    return [number for number, known in enumerate(places, start=1) if place not in known]


def _after_the_end(inside: Sequence[int], stretch: Stretch, at: int) -> bool:
    """Whether something outside the passage was read between the stretch's start and this reading."""
    return inside[at] - inside[stretch.first] > at - stretch.first


def _readings(
    script: Script, hearing: Hearing, levels: Levels, placed: Sequence[_Placed], settled: Settled
) -> tuple[Reading, ...]:
    kept = {(p.attempt.line, p.pass_id): at for at, p in enumerate(placed) if p.attempt.full}
    others = [talk.span for talk in settled.unscripted]
    laid = parted_where_quiet(levels, [p.attempt for p in placed])
    breaths = SpanIndex([_faded(levels, breath) for breath in hearing.breaths])
    spans = [past_breath(breaths, span) for span in laid]
    around = (SpanIndex(merged([*spans, *others])), breaths)
    limits = [_limits(span, around, hearing.duration_ms) for span in spans]
    true = edges.true_edges(levels, spans, limits)
    cuts = cut_points(levels, true, others, hearing.breaths)
    readings = []
    for at, (item, span, cut) in enumerate(zip(placed, true, cuts, strict=True)):
        attempt = item.attempt
        readings.append(
            Reading(
                id=f"R{at + 1:03d}",
                line_id=script.lines[attempt.line].id,
                pass_id=item.pass_id,
                kind="full" if attempt.full else "partial",
                kept=kept.get((attempt.line, item.pass_id)) == at,
                span=span,
                cut=cut,
                words=words_within(attempt.words, span),
                changes=attempt.changes,
                confidence=attempt.confidence,
            )
        )
    return tuple(readings)


def words_within(words: Sequence[ReadWord], reading: Span) -> tuple[ReadWord, ...]:
    """The words inside the reading; the first and the last one reach to its edges.

    Those that were laid outside it share the time of the one nearest to them that was not.
    """
    spans = [word.span.clipped(reading) for word in words]
    inside = [at for at, span in enumerate(spans) if span.length_ms]
    if inside:
        first, last = inside[0], inside[-1]
        spans[last:] = Span(spans[last].start_ms, reading.end_ms).parts(len(spans) - last)
        spans[: first + 1] = Span(reading.start_ms, spans[first].end_ms).parts(first + 1)
    else:
        spans = reading.parts(len(spans))
    return tuple(replace(word, span=span) for word, span in zip(words, spans, strict=True))


def _faded(levels: Levels, breath: Span) -> Span:
    """The breath until it has faded out: where it is quietest between it and the line."""
    return Span(breath.start_ms, quietest_ms(levels, Span(breath.end_ms, breath.end_ms + FADED_MS)))


def _limits(here: Span, around: Sequence[SpanIndex], duration_ms: int) -> Span:
    """How far the edges of one reading may move: not into its neighbours, nor into a breath."""
    before = max(spans.last_end_ms(here.start_ms) for spans in around)
    after = min(spans.next_start_ms(here.end_ms, duration_ms) for spans in around)
    return Span(min(before, here.start_ms), max(after, here.end_ms))
