"""Plays a plan: the sound of the take, and the truth about it measured on the clean pieces before they are mixed."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tests.evaluation.plan import Breath, Noise, Plan, Rest, Said
from tests.evaluation.signals import EDGE_DEPTH_DB, RATE, Samples, count, faded, running_rms, silence, whispered
from tests.evaluation.sounds import breath, held, stray
from tests.evaluation.voices import Speech, Word, isolated, say

_SHORTEST_S = 0.15
"""Less of a word than this is no start that anybody would hear."""


@dataclass(frozen=True)
class Event:
    """One item as it stands in the take: its own onset and offset, and its words where they are known.

    The core is what lies within ``CORE_DEPTH_DB`` of the loudest part: nobody may cut into that.
    """

    item: Said | Noise
    start_s: float
    end_s: float
    core_start_s: float
    core_end_s: float
    words: tuple[Word, ...]


def performed(plan: Plan) -> tuple[Samples, tuple[Event, ...]]:
    """The clean mix, and its events in time order."""
    pieces: list[Samples] = []
    events: list[Event] = []
    at = 0
    for item in plan.items:
        if isinstance(item, Rest):
            piece = silence(item.seconds)
        elif isinstance(item, Breath):
            piece = breath(item.seconds, item.dbfs, np.random.default_rng(item.seed))
        else:
            speech = _sounded(item, plan.room.tone_dbfs)
            piece = speech.samples
            timed = not isinstance(item, Said) or item.voice.engine != "real"  # an aligner's words are no truth
            moved = tuple(
                Word(word.text, word.start_s + at / RATE, word.end_s + at / RATE) for word in speech.words if timed
            )
            events.append(
                Event(
                    item,
                    (at + speech.start) / RATE,
                    (at + speech.end) / RATE,
                    (at + speech.core_start) / RATE,
                    (at + speech.core_end) / RATE,
                    moved,
                )
            )
        pieces.append(piece)
        at += len(piece)
    return np.concatenate((*pieces, silence(0.3))), tuple(events)


def _sounded(item: Said | Noise, room_dbfs: float | None) -> Speech:
    if isinstance(item, Noise):
        rng = np.random.default_rng(item.seed)
        return isolated(held(item.kind, rng) if item.held else stray(item.kind, rng, room_dbfs))
    speech = say(item.voice, item.text, item.rate, item.seed)
    if item.only_words is not None:
        speech = broken_off(item, speech, item.only_words)
    if item.role == "whisper":
        voiceless = whispered(speech.samples, np.random.default_rng(item.seed))
        level, own = (np.sqrt(np.mean(samples**2)) for samples in (speech.samples, voiceless))
        speech = isolated(voiceless * level / own)
    return replace(speech, samples=speech.samples * 10 ** (item.gain_db / 20))


def broken_off(item: Said, whole: Speech, words: int) -> Speech:
    """The first ``words`` words alone.

    Cut from the whole reading where the voice tells its word ends, at the quietest place within 40 ms; otherwise said
    by themselves with the open melody of a comma. A recorded person, who can say nothing else, says a word more where
    the first is too short.
    """
    texts = item.text.split()
    timed = len(whole.words) == len(texts)
    long_enough = [at for at, word in enumerate(whole.words) if word.end_s - whole.start / RATE >= _SHORTEST_S]
    if timed and item.voice.engine == "real":
        words = max(words, long_enough[0] + 1)
    if not timed or words - 1 not in long_enough:
        return say(item.voice, " ".join(texts[:words]).rstrip(",.?!") + ",", item.rate, item.seed)
    last = whole.words[words - 1]
    most_of_it_s = last.start_s + 0.6 * (last.end_s - last.start_s)
    first_at, last_at = count(max(most_of_it_s, last.end_s - 0.04)), count(last.end_s + 0.04)
    level = running_rms(whole.samples)[first_at:last_at]
    piece = faded(whole.samples[: first_at + int(level.argmin())], 0.0, 0.02)
    quieter_db = 20 * float(np.log10(running_rms(whole.samples).max() / running_rms(piece).max()))
    depth_db = whole.depth_db - quieter_db if whole.depth_db < EDGE_DEPTH_DB else EDGE_DEPTH_DB
    return isolated(np.concatenate((piece, silence(0.04))), whole.words[:words], depth_db)
