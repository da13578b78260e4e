"""Lay a line's own words on the sound: forced alignment with pocketsphinx, whose English model comes with it.

Scores are the decoder's acoustic log scores in units of its own logarithm (base 1.0001), shifted down by its ten bits
and averaged over the word's frames; a line that was said has a mean of about -10 to -30, another line -35 to -60, and
most lines that were not said have no path at all.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import chain
from typing import Any

import numpy as np
import pocketsphinx
from numpy.typing import NDArray

from lessoncut import wording
from lessoncut.hearing.records import AlignedPhone, AlignedWord, Alignment, AlignmentRequest
from lessoncut.progress import Progress, no_progress
from lessoncut.take.samples import PER_MS, RATE_HZ, Samples, cut
from lessoncut.times import Span

FRAME_MS = 10
PEAK = 12_000
"""Every window is brought to this peak: very quiet or clipped sound harms the decoder."""
LEAST_WINDOW_MS = 100
LANGUAGE = "en"
_LOG_BASE = math.log(1.0001)
_SILENCES = ("<", "[", "+")

_packaged: Any = pocketsphinx


class Aligner:
    """Lays words on one take's sound. Costs about 0.01 CPU seconds for each second of window."""

    def __init__(self, samples: Samples) -> None:
        _packaged.set_loglevel("FATAL")
        self._samples = samples
        self._decoder = _packaged.Decoder(
            hmm=_packaged.get_model_path("en-us/en-us"),
            dict=_packaged.get_model_path("en-us/cmudict-en-us.dict"),
            lm=None,
            samprate=RATE_HZ,
            bestpath=False,
            beam=1e-100,
            wbeam=1e-80,
            pbeam=1e-100,
            loglevel="FATAL",
        )
        self._known: set[str] = set()

    def align(self, requests: Sequence[AlignmentRequest], progress: Progress = no_progress) -> tuple[Alignment, ...]:
        """An answer to each request, in order; one without a path has no words."""
        answers = []
        for done, request in enumerate(requests, start=1):
            answers.append(self._one(request))
            progress(done / len(requests))
        return tuple(answers)

    def phones(self, request: AlignmentRequest) -> tuple[AlignedPhone, ...]:
        """The sounds of the words laid on the window; none where the words have no path. Twice the cost of words."""
        sound = self._sound(request.window)
        if sound is None or not self._one(request).words:
            return ()
        try:
            self._decoder.set_alignment()
            self._hear(sound)
        except RuntimeError:  # as in _decoded
            return ()
        found: list[AlignedPhone] = []
        start_ms = max(0, request.window.start_ms)
        at = -1
        alignment = self._decoder.get_alignment()  # its entries die with it
        for word in alignment:
            if word.name.startswith(_SILENCES):
                continue
            at += 1
            for phone in word:
                span = _frame_span(start_ms, phone.start, phone.start + phone.duration)
                found.append(AlignedPhone(str(phone.name), span, at))
        return tuple(found)

    def _one(self, request: AlignmentRequest) -> Alignment:
        sound = self._sound(request.window)
        if sound is None or not request.words:
            return Alignment(request, ())
        for word in request.words:
            self._learn(word)
        laid, silences = self._decoded(request, sound)
        if len(laid) != len(request.words):
            return Alignment(request, ())
        return Alignment(request, laid, min(silences, default=None))

    def _sound(self, window: Span) -> NDArray[np.int16] | None:
        if window.length_ms < LEAST_WINDOW_MS:
            return None
        sound = np.asarray(cut(self._samples, window), dtype=np.float32)
        if len(sound) < LEAST_WINDOW_MS * PER_MS:
            return None
        loudest = float(np.abs(sound).max())
        return (sound * (PEAK / loudest)).astype(np.int16) if loudest > 0 else None

    def _learn(self, word: str) -> None:
        """Words that the decoder's dictionary lacks are added as they sound."""
        if word in self._known:
            return
        self._known.add(word)
        if self._decoder.lookup_word(word) is None:
            sounds = dict.fromkeys(wording.unstressed(way) for way in wording.phones(word))
            for number, way in enumerate(sounds, start=1):
                name = word if number == 1 else f"{word}({number})"
                self._decoder.add_word(name, " ".join(way), update=True)

    def _hear(self, sound: NDArray[np.int16]) -> None:
        self._decoder.reinit_feat()  # what it made out of the noise in earlier windows would change the answer
        self._decoder.start_utt()
        self._decoder.process_raw(sound.tobytes(), full_utt=True)
        self._decoder.end_utt()

    def _decoded(
        self, request: AlignmentRequest, sound: NDArray[np.int16]
    ) -> tuple[tuple[AlignedWord, ...], list[float]]:
        decoder = self._decoder
        try:
            decoder.set_align_text(" ".join(request.words))
            self._hear(sound)
            segments = list(chain(decoder.seg() or ()))
        except RuntimeError:  # the library's only way to say that there is no path
            return (), []
        laid: list[AlignedWord] = []
        silences: list[float] = []
        start_ms = max(0, request.window.start_ms)
        for segment in segments:
            frames = segment.end_frame - segment.start_frame + 1
            score = math.log(max(segment.ascore, 1e-300)) / _LOG_BASE / frames
            if segment.word.startswith(_SILENCES):
                silences.append(score)
            elif len(laid) < len(request.words):
                span = _frame_span(start_ms, segment.start_frame, segment.end_frame + 1)
                laid.append(AlignedWord(request.words[len(laid)], span, round(score, 2)))
        return tuple(laid), silences


def _frame_span(start_ms: int, first: int, end: int) -> Span:
    return Span(start_ms + first * FRAME_MS, start_ms + end * FRAME_MS)


def no_aligner(requests: Sequence[AlignmentRequest]) -> tuple[Alignment, ...]:
    """For languages without a model: no path anywhere, so that the recogniser's own times have to do."""
    return tuple(Alignment(request, ()) for request in requests)
