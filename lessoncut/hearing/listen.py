"""Hear the words of a take: all speech once, tightly packed; whatever is not to be believed again, alone."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Protocol

from lessoncut.hearing.doubts import (
    VOICED,
    doubtful,
    in_order,
    on_speech,
    swallowed,
    unlooped,
    unsqueezed,
    words_of,
    worth,
)
from lessoncut.hearing.packs import Pack, filled, pieces_of
from lessoncut.hearing.recognise import Sound, Utterance
from lessoncut.hearing.records import HeardWord
from lessoncut.progress import Progress, no_progress, shares
from lessoncut.take.levels import Levels
from lessoncut.take.samples import Samples
from lessoncut.times import Span, merged

BATCH = 8
BEAM = 5
NEAR_MS = 3000
UNSURE = 0.5
"""Speech whose words are less probable than this, on the mean, is heard a second time."""
ANEW_MS = 15_000
"""Length of the packs of the second hearing."""

Heard = tuple[HeardWord, ...]
Known = Mapping[str, Heard]
"""What was heard in a pack before, by the pack's key."""
Keep = Callable[[Pack, Heard], None]


def forget(pack: Pack, words: Heard) -> None:
    """For callers who keep nothing."""


class Ear(Protocol):
    """What ``Recogniser`` does."""

    def hear(self, sounds: Sequence[Sound], beam: int) -> tuple[Utterance, ...]: ...


class Listener:
    """One take and who listens to it. ``keep`` gets every pack as soon as it is heard, so that a stop loses little."""

    def __init__(
        self,
        samples: Samples,
        levels: Levels,
        ear: Ear,
        known: Known | None = None,
        keep: Keep = forget,
    ) -> None:
        self._samples = samples
        self._levels = levels
        self._ear = ear
        self._known = known or {}
        self._keep = keep

    def words(self, speech: Sequence[Span], progress: Progress = no_progress) -> Heard:
        """The words said in the speech, in time order; text without speech behind it has a low ``voiced``.

        Doubted speech is heard again in other company, and what is odd even then by itself, as is what was swallowed
        in the middle of long speech.
        """
        steps = shares(progress, (16, 2, 2, 1))
        pieces = pieces_of(speech, self._levels)
        words = in_order(self._heard(filled(pieces), speech, steps[0]))
        for least_probability, full_ms, step in ((UNSURE, ANEW_MS, steps[1]), (0.0, 0, steps[2])):
            doubted = doubtful(speech, words, least_probability)
            chosen = [piece for piece in pieces if any(piece.overlap_ms(span) for span in doubted)]
            packs = filled(chosen if full_ms else merged(chosen), full_ms)
            words = _better(speech, words, doubted, self._heard(packs, speech, step))
        holes = swallowed(speech, words)
        brought_out = self._heard(filled(pieces_of(holes, self._levels), 0), holes, steps[3])
        words = in_order([*words, *(word for word in brought_out if word.voiced >= VOICED)])
        progress(1.0)
        return words

    def _heard(self, packs: Sequence[Pack], speech: Sequence[Span], progress: Progress) -> Heard:
        """The words of each pack: known ones from before, the others now, those of like length side by side."""
        found = {pack.key: self._known[pack.key] for pack in packs if pack.key in self._known}
        new = sorted({p.key: p for p in packs if p.key not in found}.values(), key=lambda pack: -pack.length_ms)
        total = sum(pack.length_ms for pack in packs) or 1
        done = sum(pack.length_ms for pack in packs if pack.key in found)
        for batch in _batches(new):
            utterances = self._ear.hear([pack.sound(self._samples) for pack in batch], BEAM)
            for pack, utterance in zip(batch, utterances, strict=True):
                found[pack.key] = _placed(pack, utterance, speech)
                self._keep(pack, found[pack.key])
            done += sum(pack.length_ms for pack in batch)
            progress(min(1.0, done / total))
        return tuple(word for pack in packs for word in found[pack.key])


def _batches(packs: Sequence[Pack]) -> Iterator[Sequence[Pack]]:
    for start in range(0, len(packs), BATCH):
        yield packs[start : start + BATCH]


def _placed(pack: Pack, utterance: Utterance, speech: Sequence[Span]) -> Heard:
    """The words in take time, each on its stretch of speech."""
    words = []
    for word in utterance:
        span = pack.take_span(word.span)
        near = _near(speech, span)
        words.append(on_speech(HeardWord(word.text, span, round(word.probability, 3)), near))
    return unsqueezed(unlooped(in_order(words)))


def _near(speech: Sequence[Span], span: Span) -> Sequence[Span]:
    first = bisect_left(speech, span.start_ms - NEAR_MS, key=lambda s: s.end_ms)
    last = bisect_left(speech, span.end_ms + NEAR_MS, key=lambda s: s.start_ms)
    return speech[first:last]


def _better(speech: Sequence[Span], words: Heard, doubted: Sequence[Span], anew: Heard) -> Heard:
    """The words with those of every doubted stretch as heard anew, where that is better."""
    chosen: list[HeardWord] = []
    for span, old, new in zip(speech, words_of(speech, words), words_of(speech, anew), strict=True):
        chosen += new if span in doubted and worth(span, new) > worth(span, old) else old
    return in_order(chosen)
