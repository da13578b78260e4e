"""Where somebody speaks, and which sounds are not speech.

The voice activity network says where speech is; the levels say exactly from when to when. Pure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.ndimage import binary_dilation

from lessoncut.hearing.breaths import LEAST_MS, MOST_MS, breaths, is_spread
from lessoncut.hearing.heights import Heights, Mask, frames_of, heights, mask, runs, smooth
from lessoncut.hearing.held import held_sounds
from lessoncut.hearing.laughter import laughter
from lessoncut.hearing.records import Sound
from lessoncut.hearing.voice import WINDOW, Probabilities
from lessoncut.take.levels import FLOOR_DB, HOP_MS, Decibels, Levels
from lessoncut.take.samples import PER_MS, Samples, cut
from lessoncut.times import Span, merged, without

ENTER, STAY = 0.35, 0.12
"""Probability at which speech begins, and down to which it goes on: low, for asides and lines of one word."""
QUIET = 0.1
"""Where it is lower than this all around, nobody speaks and the level is the room's."""
LEAST_PAUSE_MS = 250
LEAST_SPEECH_MS = 60
LEAST_BREAK_MS = 50
UNLIKELY = 0.25
"""In a break the network is, for a moment, less sure than this."""
REACH_MS = 300
"""How far speech may go on around what the network marks: soft first and last consonants."""
CONSONANT_GAP_MS = 180
"""The closure between a consonant and the rest of its word."""
LEAST_CONSONANT_MS, MOST_CONSONANT_MS = 30, 200
LEAST_BURST_MS = 30
LEAST_SOUND_MS = 50
"""One click, widened to 40 ms by the smoothing, is nothing; two knocks are a sound."""
SOUND_BRIDGE_MS = 300
"""Between the bursts of one cough, or the knocks at one door."""
FAINT_DB = 28.0
"""A sound so far below speech is no finding: in a take whose pauses are near digital silence any rustle stands out."""
BREATH_UNDER_SPEECH_DB = 20.0
BREATH_BEFORE_MS = 500
"""A hiss as quiet as this, so shortly before speech, is the speaker's breath."""
SPREAD_UNDER_SPEECH_DB, INTO_SPEECH_MS = 12.0, 120
"""And a sound that is spread as breaths are, and all but runs into the speech."""
LEAST_LIKELY_LAUGHTER = 0.2
"""Share of a laugh that the network takes for speech; the knocks at a door are as even."""
LAST_NOTE_MS = 150
"""A laugh's first or last note may be as long, and not like the others."""
_QUIET_MARGIN_MS = 200


@dataclass(frozen=True)
class Speech:
    """``spans`` hold no pause of room tone as long as ``LEAST_PAUSE_MS``; ``sounds`` and ``breaths`` overlap none.

    ``likely`` is the network's highest probability inside each span; ``breaks`` are moments of room tone inside them;
    ``laughs`` are in the spans as well.
    """

    spans: tuple[Span, ...]
    likely: tuple[float, ...]
    breaks: tuple[Span, ...]
    sounds: tuple[Sound, ...]
    floor_db: float
    speech_db: float
    breaths: tuple[Span, ...] = ()
    laughs: tuple[Sound, ...] = ()


def told_apart(samples: Samples, levels: Levels, probabilities: Probabilities) -> Speech:
    """Speech and other sounds in a take."""
    frames = len(levels.voice_db)
    if not frames:
        return Speech((), (), (), (), FLOOR_DB, FLOOR_DB)
    likely = _by_frame(probabilities, frames)
    still = likely < QUIET
    quiet = ~binary_dilation(~still, iterations=_QUIET_MARGIN_MS // HOP_MS)
    over = heights(levels, quiet, still)
    held = held_sounds(samples, over)
    voice_db = smooth(levels.voice_db)
    marked = _marked(likely)
    laughs = _laughs(samples, over, marked & ~mask(held, frames))
    unheld = ~mask(held, frames)
    drawn = breaths(samples, over, voice_db, likely, marked & unheld)
    voiced = unheld & ~mask(drawn, frames)
    spans = _speech_spans(over, marked & voiced, voiced)
    spoken = mask(spans, frames)
    speech_db = float(np.median(voice_db[spoken & over.active])) if spans else FLOOR_DB
    strays = [
        sound
        for sound in _strays(over, voice_db, ~spoken & voiced)
        if sound.peak_db >= speech_db - FAINT_DB and not _is_breath(samples, sound, over, spans, speech_db)
    ]
    shown = [Sound(p, float(voice_db[frames_of(p)].max()), held=True) for h in held for p in without(h, spans)]
    return Speech(
        spans,
        tuple(round(float(likely[frames_of(span)].max()), 3) for span in spans),
        _breaks(over, likely, spoken),
        tuple(sorted([*strays, *shown], key=lambda sound: sound.span)),
        float(np.median(over.floor)),
        speech_db,
        drawn,
        tuple(Sound(laugh, float(voice_db[frames_of(laugh)].max()), laughter=True) for laugh in laughs),
    )


def _laughs(samples: Samples, over: Heights, marked: Mask) -> tuple[Span, ...]:
    """The laughter that the network takes for speech, with the first and the last note."""
    active = runs(over.active)
    found = []
    for laugh in laughter(samples):
        sounding = [run for run in active if run.overlap_ms(laugh)]
        if sounding and marked[frames_of(laugh)].mean() >= LEAST_LIKELY_LAUGHTER:
            around = laugh.padded(LAST_NOTE_MS, LAST_NOTE_MS)
            first_ms, last_ms = sounding[0].start_ms, sounding[-1].end_ms
            start_ms = first_ms if first_ms >= around.start_ms else laugh.start_ms
            found.append(Span(start_ms, last_ms if last_ms <= around.end_ms else laugh.end_ms))
    return merged(found)


def _by_frame(probabilities: Probabilities, frames: int) -> Probabilities:
    middle = (np.arange(frames) * HOP_MS + HOP_MS // 2) * PER_MS // WINDOW
    return probabilities[np.minimum(middle, len(probabilities) - 1)]


def _marked(likely: Probabilities) -> Mask:
    """What the network takes for speech: down to ``STAY`` around every ``ENTER``."""
    return mask((run for run in runs(likely >= STAY) if likely[frames_of(run)].max() >= ENTER), len(likely))


def _speech_spans(over: Heights, marked: Mask, allowed: Mask) -> tuple[Span, ...]:
    """The active runs that touch what is marked, cut where they reach too far beyond it, with their consonants."""
    pieces = runs(over.active & _reached(marked) & allowed)
    bridge_ms = LEAST_PAUSE_MS - HOP_MS
    touching = merged((run for run in pieces if marked[frames_of(run)].any()), bridge_ms=bridge_ms)
    certain = [span for span in touching if span.length_ms >= LEAST_SPEECH_MS]
    beside = merged(span.padded(CONSONANT_GAP_MS, CONSONANT_GAP_MS) for span in certain)
    consonants = [run for run in pieces if _is_consonant(run, over) and any(run.overlap_ms(span) for span in beside)]
    spans = merged([*certain, *consonants], bridge_ms=bridge_ms)
    return runs(mask(spans, len(allowed)) & allowed)


def _breaks(over: Heights, likely: Probabilities, spoken: Mask) -> tuple[Span, ...]:
    still = [run for run in runs(spoken & ~over.active) if run.length_ms >= LEAST_BREAK_MS]
    return tuple(run for run in still if likely[frames_of(run)].min() < UNLIKELY)


def _reached(marked: Mask) -> Mask:
    return mask((run.padded(REACH_MS, REACH_MS) for run in runs(marked)), len(marked))


def _is_consonant(run: Span, over: Heights) -> bool:
    """Loud, too long for a click and too short for a cough."""
    return LEAST_CONSONANT_MS <= run.length_ms <= MOST_CONSONANT_MS and bool(over.loud[frames_of(run)].any())


def _strays(over: Heights, level_db: Decibels, allowed: Mask) -> list[Sound]:
    bursts = [run for run in runs(over.loud & allowed) if run.length_ms >= LEAST_BURST_MS]
    sounds = [span for span in merged(bursts, bridge_ms=SOUND_BRIDGE_MS) if span.length_ms >= LEAST_SOUND_MS]
    return [Sound(span, float(level_db[frames_of(span)].max())) for span in sounds]


def _is_breath(samples: Samples, sound: Sound, over: Heights, speech: Sequence[Span], speech_db: float) -> bool:
    """Whether it is one that hisses, or is spread as breaths are and runs into the speech behind it."""
    inside = frames_of(sound.span)
    under_db = speech_db - sound.peak_db
    starts_ms = (span.start_ms - sound.span.end_ms for span in speech)
    behind_ms = min((ms for ms in starts_ms if ms >= 0), default=None)
    if behind_ms is None or behind_ms > BREATH_BEFORE_MS:
        return False
    if over.hiss[inside].max() >= over.voice[inside].max() and under_db >= BREATH_UNDER_SPEECH_DB:
        return True
    soft = behind_ms <= INTO_SPEECH_MS and under_db >= SPREAD_UNDER_SPEECH_DB
    return soft and LEAST_MS <= sound.span.length_ms <= MOST_MS and is_spread(cut(samples, sound.span))
