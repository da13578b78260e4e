"""A few seconds of the lesson, small and at once: to see and hear a join before everything is made.

One ffmpeg decodes the sound around them and a second makes the file. Nothing is measured: the gain comes from the
levels that are known since the analysis, and scipy, which takes half a second to load, is not needed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np

from lessoncut.ffmpeg import piped, run, target
from lessoncut.render.encoding import quickly_shown, small_look
from lessoncut.render.gating import integrated_lufs
from lessoncut.render.records import Footage
from lessoncut.render.samples import RATE_HZ, Chunk
from lessoncut.render.shots import shots_of, strips_of
from lessoncut.render.sound import Source, lesson_sound, runs_on
from lessoncut.render.targets import CODED_CEILING_DBTP, MONO_LUFS
from lessoncut.render.tone import Tone, tone_of
from lessoncut.render.tracks import SILENCE, Track, decoded_part, on_grid
from lessoncut.take.levels import HOP_MS, Levels, power_of
from lessoncut.timeline.records import Cover, Edit, Gap, TakeEdit, Timeline
from lessoncut.times import Span

_AROUND_MS = 2000
"""How much of the take around what is played is decoded: room tone is found there."""
_HOLD = RATE_HZ // 200
"""5 ms: how quickly a peak is turned down."""


def cuts_of(timeline: Timeline) -> tuple[int, ...]:
    """The lesson frames at which the take does not run on: the joins, in order."""
    return tuple(following.lesson_in for edit, following in pairwise(timeline.edits) if not runs_on(edit, following))


def write_glance(footage: Footage, first: int, end: int, levels: Levels, to: Path) -> int:
    """Lesson frames ``[first, end)`` as a small MP4, or as M4A where the take has no picture.

    About as loud as the lesson will be; ``levels`` are the whole take's. Returns how many of its frames stand still
    because key frames lie far apart. Raises TakeError, ToolError.
    """
    part = replace(footage, timeline=clipped(footage.timeline, first, end))
    source = _source(part)
    sound = np.concatenate(list(lesson_sound(part.timeline, source)))
    loud = turned_down(sound * np.float32(10 ** (gain_db(footage.timeline, levels) / 20)))
    streams = [piped(format="f32le", ar=RATE_HZ, ac=source.channels).audio]
    options: dict[str, object] = {"acodec": "aac", "aac_coder": "fast", "audio_bitrate": "128k"}
    still = 0
    if footage.take.picture:
        look, rate = small_look(footage.take), part.timeline.rate
        shown, still = quickly_shown(footage.take, rate, shots_of(strips_of(part.timeline)), look.size)
        streams.insert(0, shown)
        options |= {"vcodec": "libx264", "preset": look.preset, "crf": look.crf}
        options |= {"video_track_timescale": rate.per_second.numerator}
    run(target(*streams, to=to, format="mp4", movflags="+faststart", **options), stdin=[loud.astype("<f4").tobytes()])
    return still


def gain_db(timeline: Timeline, levels: Levels) -> float:
    """What brings the lesson near its loudness, by the take's levels.

    They are those of one channel: two measure 3 LU more, and 3 LU more are wanted of them. For voices their weighting
    gives within 1 LU what BS.1770's does (measured on our own takes: 0.1 too much to 0.6 too little).
    """
    power, rate = power_of(levels.voice_db), timeline.rate
    heard = [np.zeros(0)]
    for edit in timeline.edits:
        if isinstance(edit, TakeEdit):
            start_ms = timeline.file_starts_ms[edit.file] + rate.start_ms(edit.source_in)
            hops = rate.start_ms(edit.source_out - edit.source_in) // HOP_MS
            heard.append(power[start_ms // HOP_MS :][:hops])
    lufs = integrated_lufs(np.concatenate(heard))
    return 0.0 if math.isinf(lufs) else MONO_LUFS - lufs


def turned_down(sound: Chunk) -> Chunk:
    """The sound with no sample over the ceiling: simpler than the lesson's limiter, and good enough for a look."""
    blocks = -(-len(sound) // _HOLD)
    peaks = np.zeros(blocks * _HOLD, np.float32)
    peaks[: len(sound)] = np.abs(sound).max(axis=1)
    ceiling = np.float32(10 ** (CODED_CEILING_DBTP / 20))
    needed = np.pad(np.minimum(1, ceiling / np.maximum(peaks.reshape(blocks, _HOLD).max(axis=1), ceiling)), 1, "edge")
    # Between the middles of two blocks the gain never exceeds what either needs.
    gains = np.minimum(np.minimum(needed[:-2], needed[1:-1]), needed[2:])
    middles = np.arange(blocks) * _HOLD + _HOLD / 2
    return np.asarray(sound * np.interp(np.arange(len(sound)), middles, gains)[:, None], dtype=np.float32)


def clipped(timeline: Timeline, first: int, end: int) -> Timeline:
    """The part of a timeline as a timeline of its own."""
    window = Span(timeline.rate.start_ms(first), timeline.rate.start_ms(end))
    inside = (cover.lesson_span.clipped(window) for cover in timeline.covers if cover.lesson_span.overlap_ms(window))
    covers = (Cover(Span(span.start_ms - window.start_ms, span.end_ms - window.start_ms)) for span in inside)
    return replace(timeline, edits=tuple(_inside(timeline, first, end)), covers=tuple(covers))


def _inside(timeline: Timeline, first: int, end: int) -> Iterator[Edit]:
    for edit in timeline.edits:
        start, stop = max(edit.lesson_in, first), min(edit.lesson_out, end)
        if start >= stop:
            continue
        moved = replace(edit, lesson_in=start - first, lesson_out=stop - first)
        if isinstance(moved, TakeEdit):
            moved = replace(
                moved,
                source_in=moved.source_in + start - edit.lesson_in,
                source_out=moved.source_out - (edit.lesson_out - stop),
            )
        yield moved


def _source(footage: Footage) -> Source:
    """The take's sound where it is needed, and nothing of the rest."""
    tracks: list[Track] = []
    tones: list[Tone] = []
    for number, file in enumerate(footage.take.files):
        wanted = _wanted(footage, number)
        track = on_grid(decoded_part(file, wanted), file, footage.timeline.rate) if wanted else SILENCE
        beside = [Span(0, wanted.start_ms), Span(wanted.end_ms, file.duration_ms)] if wanted else []
        tracks.append(track)
        tones.append(tone_of(track, sorted([*footage.sounding_in(number), *beside])))
    return Source(tuple(tracks), tuple(tones))


def _wanted(footage: Footage, number: int) -> Span | None:
    """The stretch of one file that is heard, with some of what lies around it."""
    rate = footage.timeline.rate
    frames: list[int] = []
    for edit in footage.timeline.edits:
        if isinstance(edit, TakeEdit) and edit.file == number:
            frames += [edit.source_in, edit.source_out]
        elif isinstance(edit, Gap) and edit.hold_file == number:
            frames.append(edit.hold_frame)
    if not frames:
        return None
    around = Span(rate.start_ms(min(frames)), rate.start_ms(max(frames))).padded(_AROUND_MS, _AROUND_MS)
    return around.clipped(Span(0, footage.take.files[number].duration_ms))
