"""True edges of readings. Pure.

The aligner finds a line's first and last sound, give or take a few frames: it begins a little early, lets the last
word run on into the room, and misses the release of a last consonant. The level says where the sound itself begins and
ends, but takes a breath or a click for speech, the room's echo for a vowel, and cannot hear what lies under the noise.
So the level is asked near the aligner's edges alone, and how deep it looks depends on the room.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from lessoncut.hearing.heights import runs, smooth
from lessoncut.hearing.last_sounds import (
    HIDING_DB,
    with_burst,
    with_hidden_release,
    with_hiss,
    with_level_hiss,
    with_release,
)
from lessoncut.hearing.outlines import (
    CLOSURE_MS,
    DEPTH_DB,
    DRY_MS_A_DB,
    HISS_OVER_DB,
    PLAIN,
    VOICE_OVER_DB,
    LaidLine,
    Outline,
    frames,
    later,
)
from lessoncut.take.levels import HOP_MS, Decibels, Levels, quietest_ms
from lessoncut.times import Span

ECHO_DEPTH_DB = 30.0
"""What lies deeper than this at the end of a line is the echo of a very live room."""
HISS_UNDER_DB = 5.0
"""How much deeper a last s or f may lie than that."""
DEPTH_A_FADING = 3.0
"""Depth lost, dB, for each further ms a dB."""
HUM_OVER_DB = 3.2
"""As ``VOICE_OVER_DB``, over the quiet fifth of the smoothed level: hum goes up and down with every frame, so that its
quiet ones are further below what is smoothed than those of noise are."""
RISING_MS_A_DB, SUDDEN_MS_A_DB, FALLING_MS_A_DB = 1.6, 0.4, 3.7
"""A voice goes on for about so long under the room's noise, for each dB between the noise and its true depth: where it
comes up from a faint sound, where it sets in at once, and where it falls."""
FLOOR_PERCENTILE = 20
FIRST_HISS_DEPTH_DB, FIRST_HISS_OVER_DB = 55.0, 6.0
"""How deep under a line's peak its first s or f may lie, if it is so much over the room: most of it lies higher than
what is looked at here."""
AROUND_MS = 600
"""How far around a reading the room's level is looked for."""
EARLIER_MS, EARLIEST_MS, EARLIEST_OF_ONE_MS, LATER_MS, LATEST_MS = 150, 300, 400, 350, 600
"""How far the level may move an edge outwards; a start further than usual where it falls quiet there, and one of a
single word, which may be drawn out; and an end that is as loud as a voice, if it falls quiet there."""
VOICE_UNDER_DB = 20.0
"""So far under a line's peak, smoothed, no echo is left after so long."""
START_INWARD_MS, END_INWARD_MS, NOISY_END_INWARD_MS = 250, 250, 150
"""How far it may move one inwards, over silence alone."""
NOISY_DB, DROWNED_DB = 6.0, 14.0
"""How much of the depth noise may hide before the level is trusted less; and not at all, where it says: earlier."""
FIRST_CLOSURE_MS = 80
"""A closure behind a first s is shorter: what stands further before the line is a breath."""
JOINT_MS = 40
CLICK_MS = 50
"""Before a line, what stands apart from it by more than a joint and is shorter than this, smoothed, is a click."""
FADE_FROM_DB, FADE_TO_DB, FADE_LEAST_DB = 24.0, 36.0, 6.0
"""The part of a line's fall, under its peak, in which an echo shows; and the least of it that tells anything."""
FADES_WANTED = 4
MARGIN_MS, COVERED_MARGIN_MS = 8, 18
"""More at every end; and at one that is covered, by the noise or an obstruent by the echo."""
START_MARGIN_MS, FAINT_MARGIN_MS, SUDDEN_MARGIN_MS = 3, 15, 8
"""More at every start; and at one in noise."""
VERY_LIVE_MS_A_DB = 8.0
"""From here on the aligner has a say again in where a line ends, as it has where noise hides how the room falls: rooms
that fall by 60 dB in half a second."""
HALL_MS_A_DB = 10.0
"""From here on the level tells little of an end, and the aligner has more say: 60 dB in six tenths of a second."""
LIVE_MS_A_DB = 6.0
"""From here on the echo may cover the last of a line; up to there the level alone sees it."""
LIVE_MARGIN_MS, LIVE_STOP_MARGIN_MS = 8, 20
"""More at every end in a live room; and at one in a p, t or k, whose release falls with the echo."""


@dataclass(frozen=True)
class AlignersSay:
    """The aligner's say in where a line ends: it lays an end ``early_ms`` too early; of what lies further behind, such
    a ``share``, and at most ``most_ms``, is echo."""

    early_ms: int
    share: float
    most_ms: int


SAY, SAY_IN_A_HALL, SAY_IN_NOISE = AlignersSay(80, 0.5, 40), AlignersSay(50, 0.8, 100), AlignersSay(30, 1.0, 40)


def true_edges(
    levels: Levels, laid: Sequence[Span], limits: Sequence[Span], outlines: Sequence[Outline] | None = None
) -> list[Span]:
    """For each aligned line, in time order, the onset and offset of its speech.

    ``limits`` are the neighbours' edges. Where two lines reach for the same sound, the quietest place parts them.
    """
    smoothed = Levels(smooth(levels.voice_db), smooth(levels.hiss_db))
    rows = zip(laid, limits, outlines or [PLAIN] * len(laid), strict=True)
    lines = [_line(levels, smoothed, *row) for row in rows]
    fading = _fading_ms_a_db(smoothed.voice_db, lines)
    found = [_edges(smoothed, line, fading) for line in lines]
    released = [False] * len(lines)
    for at, line in enumerate(lines):
        hisses = line.outline.hissing
        if hisses:
            found[at] = with_hiss(smoothed.hiss_db, found[at], line)
            before, found[at] = found[at], with_release(smoothed.voice_db, found[at], line)
            if line.outline.stopping:
                found[at] = with_burst(levels, found[at], line)
            released[at] = found[at] != before
            found[at] = with_level_hiss(smoothed.hiss_db, found[at], line, fading)
        covered = line.hidden_db >= DROWNED_DB or (hisses and fading > DRY_MS_A_DB)
        earlier_ms = FAINT_MARGIN_MS if line.outline.faint else SUDDEN_MARGIN_MS
        earlier_ms = earlier_ms if line.hidden_db > NOISY_DB else START_MARGIN_MS
        found[at] = _with_margin(found[at], line, earlier_ms, COVERED_MARGIN_MS if covered else MARGIN_MS)
    usual_ms = float(
        np.median([edges.end_ms - line.laid.end_ms for edges, line in zip(found, lines, strict=True)] or [0])
    )
    for at, line in enumerate(lines):
        if fading >= VERY_LIVE_MS_A_DB or (not fading and line.hidden_db > NOISY_DB):
            found[at] = _nearer(found[at], line.laid, usual_ms, _say(fading))
        if LIVE_MS_A_DB <= fading < HALL_MS_A_DB:
            found[at] = _with_live_margin(found[at], line)
        if not released[at]:
            found[at] = with_hidden_release(found[at], line)
    return _apart(levels, laid, found)


def _line(levels: Levels, smoothed: Levels, laid: Span, limits: Span, outline: Outline) -> LaidLine:
    peak_db = float(frames(levels.voice_db, laid).max(initial=-120.0))
    before = Span(laid.start_ms - AROUND_MS, laid.start_ms - EARLIER_MS)
    after = Span(laid.end_ms + LATER_MS // 2, laid.end_ms + AROUND_MS)

    def floor_db(band: Decibels) -> float:
        around = np.concatenate((frames(band, before), frames(band, after)))
        return float(np.percentile(around, FLOOR_PERCENTILE)) if len(around) else -120.0

    room_voice_db, room_hiss_db = floor_db(levels.voice_db), floor_db(levels.hiss_db)
    over_db = max(room_voice_db + VOICE_OVER_DB, floor_db(smoothed.voice_db) + HUM_OVER_DB)
    least_db = peak_db - DEPTH_DB
    hiss_db = max(least_db, room_hiss_db + HISS_OVER_DB)
    return LaidLine(laid, limits, outline, peak_db, max(least_db, over_db), hiss_db, room_voice_db, room_hiss_db)


def _fading_ms_a_db(voice_db: Decibels, lines: Sequence[LaidLine]) -> float:
    """How slowly sound dies away in this room: the middle of what the lines' ends show; 0 when they show nothing."""
    rates = []
    for line in lines:
        from_db, to_db = line.peak_db - FADE_FROM_DB, max(line.peak_db - FADE_TO_DB, line.voice_db)
        end_ms = line.laid.end_ms
        fall = frames(voice_db, Span(end_ms - 300, max(end_ms, min(line.limits.end_ms, end_ms + 500))))
        loud = np.flatnonzero(fall > from_db)
        if from_db - to_db < FADE_LEAST_DB or not len(loud):
            continue
        low = np.flatnonzero(fall[loud[-1] :] < to_db)
        if len(low):
            rates.append(low[0] * HOP_MS / (from_db - to_db))
    return float(np.median(rates)) if len(rates) >= FADES_WANTED else 0.0


def _edges(smoothed: Levels, line: LaidLine, fading_ms_a_db: float) -> Span:
    laid, limits = line.laid, line.limits
    lost_db = DEPTH_A_FADING * max(0.0, fading_ms_a_db - DRY_MS_A_DB)
    echo_db = line.peak_db - max(ECHO_DEPTH_DB, DEPTH_DB - lost_db)
    hidden_db = max(0.0, line.hidden_db)
    start_ms = _start(smoothed, line) - round((RISING_MS_A_DB if line.outline.faint else SUDDEN_MS_A_DB) * hidden_db)
    over = replace(line, voice_db=max(line.voice_db, echo_db), hiss_db=max(line.hiss_db, echo_db - HISS_UNDER_DB))
    # What the room's echo covers is not the voice's any more.
    hidden_tail_db = max(0.0, line.voice_db - max(echo_db, line.peak_db - DEPTH_DB))
    end_ms = _end(smoothed, over, line.hidden_db) + round(FALLING_MS_A_DB * hidden_tail_db)
    start_ms = max(start_ms, min(limits.start_ms, laid.start_ms))
    return Span(start_ms, max(start_ms, min(end_ms, max(limits.end_ms, laid.end_ms))))


def _with_margin(found: Span, line: LaidLine, earlier_ms: int, later_ms: int) -> Span:
    """The line with a little more at its ends, which nobody can hear there: a clipped one is heard sooner."""
    start_ms = min(found.start_ms, max(found.start_ms - earlier_ms, line.limits.start_ms))
    return later(Span(start_ms, found.end_ms), line, later_ms)


def _nearer(found: Span, laid: Span, usual_ms: float, say: AlignersSay) -> Span:
    """The line without some of what lies far behind its laid end, as lines here usually do: there the room speaks."""
    behind_ms = min(usual_ms, found.end_ms - laid.end_ms) - say.early_ms
    return Span(found.start_ms, found.end_ms - round(min(say.most_ms, say.share * max(0.0, behind_ms))))


def _say(fading_ms_a_db: float) -> AlignersSay:
    """How much say the aligner has in a room that falls so slowly; 0: noise hides how."""
    if not fading_ms_a_db:
        return SAY_IN_NOISE
    return SAY if fading_ms_a_db < HALL_MS_A_DB else SAY_IN_A_HALL


def _with_live_margin(found: Span, line: LaidLine) -> Span:
    """The line with more at its end: in a live room what is left of it goes down with the echo, unseen."""
    stops = line.outline.stopping and line.hidden_db < HIDING_DB
    return later(found, line, LIVE_STOP_MARGIN_MS if stops else LIVE_MARGIN_MS)


def _apart(levels: Levels, laid: Sequence[Span], found: Sequence[Span]) -> list[Span]:
    starts, ends = [span.start_ms for span in found], [span.end_ms for span in found]
    for at, (before, after) in enumerate(pairwise(laid)):
        if ends[at] > starts[at + 1] and before.end_ms <= after.start_ms:
            parted_ms = quietest_ms(levels, Span(before.end_ms, after.start_ms))
            ends[at] = max(starts[at], min(ends[at], parted_ms))
            starts[at + 1] = min(ends[at + 1], max(starts[at + 1], parted_ms))
    return [Span(*edges) for edges in zip(starts, ends, strict=True)]


def _start(smoothed: Levels, line: LaidLine) -> int:
    laid_ms = line.laid.start_ms
    if line.outline.hiss_first:
        deep_db = max(line.room_hiss_db + FIRST_HISS_OVER_DB, line.peak_db - FIRST_HISS_DEPTH_DB)
        line = replace(line, hiss_db=min(line.hiss_db, deep_db))
    inward = _active(smoothed, line, Span(laid_ms, min(line.laid.end_ms, laid_ms + START_INWARD_MS)), line.voice_db)
    silent_ms = _silent_ms(inward)
    outward = _before(line, EARLIEST_OF_ONE_MS if line.outline.single else EARLIEST_MS)
    active = _active(smoothed, line, outward, line.voice_db)[::-1]
    reach_ms = _reach_ms(active, CLICK_MS, FIRST_CLOSURE_MS - silent_ms)
    if reach_ms >= outward.length_ms:
        outward = _before(line, EARLIER_MS)
    if reach_ms and reach_ms >= outward.length_ms > 3 * HOP_MS:
        # Never quiet: something else fades out here. The line begins where that is faintest.
        return outward.start_ms + int(frames(smoothed.voice_db, outward).argmin()) * HOP_MS
    if reach_ms:
        return max(outward.start_ms, laid_ms - reach_ms)
    return laid_ms + silent_ms


def _before(line: LaidLine, reach_ms: int) -> Span:
    laid_ms = line.laid.start_ms
    return Span(min(laid_ms, max(line.limits.start_ms, laid_ms - reach_ms)), laid_ms)


def _end(smoothed: Levels, line: LaidLine, hidden_db: float) -> int:
    laid_ms = line.laid.end_ms
    outward = Span(laid_ms, max(laid_ms, min(line.limits.end_ms, laid_ms + LATER_MS)))
    reach_ms = _reach_ms(_active(smoothed, line, outward, line.voice_db), 0, CLOSURE_MS)
    if reach_ms >= outward.length_ms:
        return _end_of_voice(smoothed, line, outward)
    if reach_ms:
        return laid_ms + reach_ms
    if hidden_db > DROWNED_DB:
        return laid_ms
    most_ms = END_INWARD_MS if hidden_db < NOISY_DB else NOISY_END_INWARD_MS
    inward = _active(smoothed, line, Span(max(line.laid.start_ms, laid_ms - most_ms), laid_ms), line.voice_db)
    return laid_ms - _silent_ms(inward[::-1])


def _end_of_voice(smoothed: Levels, line: LaidLine, outward: Span) -> int:
    """Where a line ends that never falls quiet behind its laid end: as loud as a voice, it goes on for so long as it
    falls quiet soon; what does not is somebody who speaks."""
    further = Span(outward.end_ms, max(outward.end_ms, min(line.limits.end_ms, line.laid.end_ms + LATEST_MS)))
    last_db = frames(smoothed.voice_db, Span(outward.end_ms - HOP_MS, outward.end_ms)).max(initial=-np.inf)
    reach_ms = _reach_ms(_active(smoothed, line, further, line.voice_db), 0, 0)
    voiced = last_db > line.peak_db - VOICE_UNDER_DB
    return outward.end_ms + (reach_ms if voiced and reach_ms < further.length_ms else 0)


def _active(smoothed: Levels, line: LaidLine, span: Span, voice_db: float) -> NDArray[np.bool_]:
    return (frames(smoothed.voice_db, span) > voice_db) | (frames(smoothed.hiss_db, span) > line.hiss_db)


def _reach_ms(active: NDArray[np.bool_], least_ms: int, closure_ms: int) -> int:
    """How far the activity goes on from the first frame, over such closures to sounds of at least so long."""
    reached = 0
    for run in runs(active):
        apart_ms = run.start_ms - reached
        if apart_ms > closure_ms or (apart_ms > JOINT_MS and run.length_ms < least_ms):
            break
        reached = run.end_ms
    return reached


def _silent_ms(active: NDArray[np.bool_]) -> int:
    """How long it is silent from the first frame; 0 when it stays so, since then the level knows nothing."""
    return int(active.argmax()) * HOP_MS if active.any() else 0
