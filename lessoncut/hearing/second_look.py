"""A second look at short sounds: is it a voice after all, or none?

The voice activity network carries a state along, and a long quiet or a loud noise may leave it deaf for a word, or
credulous for a cough. With a fresh state it is another witness; whether the sound has a pitch is a third.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from lessoncut.hearing.pitch import pitch
from lessoncut.hearing.records import HeardWord, Sound
from lessoncut.hearing.voice import WINDOW, Probabilities, voice_probabilities
from lessoncut.take.samples import PER_MS, RATE_HZ, Samples
from lessoncut.times import Span, without

SHORTEST_MS = 150
BEFORE_MS, AFTER_MS = (0, 100), 200
"""Sound given to the network around: it is asked once for each number of milliseconds before."""
SURE_VOICE, VOICED = 0.75, 0.4
"""Probability at each look, and share of the sound with a pitch, from which a sound is speech. Over 38 made takes
speech that the network had missed had 0.76 and 0.55 at least; noises had 0.8 with no pitch, or 0.5."""
LIKE_VOICE_MS, LIKE_VOICE, LIKE_VOICED = 350, 0.15, 0.6
"""From how long a sound on, what probability at one of the looks, and what share with a pitch, it may be a voice after
all: over a telephone the network is deaf to some. What rings has 0.1 at most, a knock no pitch."""
NO_VOICE, UNVOICED = 0.7, 0.15
"""Mean probability of the looks, and share with a pitch, up to which what passed for speech is a noise: a whisper had
0.79, everything that was said aloud a share of 0.26."""


LONGEST_NOISE_MS = 1500
LEAST_APART_MS, LEAST_HOLE_MS = 200, 130
"""What ends speech after a shorter moment of room tone, or is shorter, may be its last consonant."""


def missed_speech(samples: Samples, sounds: Sequence[Sound]) -> tuple[Span, ...]:
    """Those of the sounds that are speech."""
    return tuple(sound.span for sound in sounds if sound.may_be_speech and is_voice(samples, sound.span))


def is_voice(samples: Samples, span: Span) -> bool:
    """Whether a sound that the network was not sure of is speech."""
    return (
        span.length_ms >= SHORTEST_MS
        and min(_looks(samples, span)) >= SURE_VOICE
        and _voiced_share(samples, span) >= VOICED
    )


def may_be_voice(samples: Samples, span: Span) -> bool:
    """Whether a sound that the network takes for none may be speech, if words are heard in it."""
    return (
        span.length_ms >= LIKE_VOICE_MS
        and _voiced_share(samples, span) >= LIKE_VOICED
        and max(_looks(samples, span)) >= LIKE_VOICE
    )


def is_noise(samples: Samples, span: Span) -> bool:
    """Whether the sound that the network took for speech is none."""
    return float(np.mean(_looks(samples, span))) <= NO_VOICE and _voiced_share(samples, span) <= UNVOICED


def without_noisy_ends(samples: Samples, span: Span, breaks: Sequence[Span], words: Sequence[HeardWord]) -> Span:
    """The speech without what stands before or after it, apart from it, wordless, and no voice: a cough.

    ``breaks`` are the moments of room tone in the take, ``words`` those heard in the speech.
    """
    pieces = without(span, [pause for pause in breaks if pause.overlap_ms(span)])
    while len(pieces) > 1 and _is_apart(samples, pieces[-1], pieces[-2].gap_to_ms(pieces[-1]), words):
        pieces = pieces[:-1]
    while len(pieces) > 1 and _is_apart(samples, pieces[0], pieces[0].gap_to_ms(pieces[1]), words):
        pieces = pieces[1:]
    return pieces[0].hull(pieces[-1])


def _is_apart(samples: Samples, piece: Span, hole_ms: int, words: Sequence[HeardWord]) -> bool:
    if hole_ms < LEAST_HOLE_MS or not LEAST_APART_MS <= piece.length_ms <= LONGEST_NOISE_MS:
        return False
    return not any(piece.contains(word.span.middle_ms) for word in words) and is_noise(samples, piece)


def with_looks(samples: Samples, spans: Sequence[Span], probabilities: Probabilities) -> Probabilities:
    """The probabilities of speech, inside the spans those of a fresh look where they are higher."""
    out = probabilities.copy()
    for span in spans:
        first = max(0, span.start_ms - max(BEFORE_MS)) * PER_MS // WINDOW
        last = min(len(out), -(-span.end_ms * PER_MS // WINDOW))
        looked = voice_probabilities(samples[first * WINDOW : last * WINDOW])
        inside = slice(span.start_ms * PER_MS // WINDOW, last)
        out[inside] = np.maximum(out[inside], looked[inside.start - first :])
    return out


def _looks(samples: Samples, span: Span) -> list[float]:
    """The network's highest probability at each look."""
    last = (span.end_ms + AFTER_MS) * PER_MS
    return [
        float(voice_probabilities(samples[max(0, span.start_ms - before_ms) * PER_MS : last]).max())
        for before_ms in BEFORE_MS
    ]


def _voiced_share(samples: Samples, span: Span) -> float:
    """How much of the sound has a pitch, 0 to 1."""
    hz = pitch(samples[span.start_ms * PER_MS : span.end_ms * PER_MS] / np.float64(32_768), RATE_HZ)
    return float(np.isfinite(hz).mean()) if len(hz) else 0.0
