"""Words from sound: one batch through the Whisper network, by faster-whisper's own steps.

The network usually gets 30 seconds, filled up with silence. Here it gets as much as the longest sound of the batch:
half the work, and no word lost by it, as long as it is not less than ``LEAST_MS``.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import islice
from typing import Any

import ctranslate2
import numpy as np
from faster_whisper import WhisperModel
from faster_whisper.tokenizer import Tokenizer
from faster_whisper.transcribe import get_suppressed_tokens
from numpy.typing import NDArray

from lessoncut.errors import ToolError
from lessoncut.times import Span, milliseconds

LATE_MS = 95
"""How much later than the sound the network's times are, on the middle of 160 labelled lines."""
SPARE_MS = 500
"""Silence after the longest sound of a batch."""
LEAST_MS, MOST_MS = 10_000, 30_000
"""What the network gets to hear at least: with less it loops. And at most: it was made for this."""
ALIKE_MS = LEAST_MS - SPARE_MS
"""Sounds up to this are all given the same length."""
MOST_TOKENS_A_SECOND = 8
"""Nobody speaks faster; a loop does."""
LEAST_PROBABILITY = 1e-9
"""Of a token that the network rules out."""
_NO_SPACES = frozenset(("zh", "ja", "th", "lo", "my", "yue"))

Sound = NDArray[np.float32]
"""Shape (samples,), 16 kHz, -1 to 1."""


@dataclass(frozen=True)
class SpokenWord:
    """``span`` is in the sound's own time, without the network's lateness."""

    text: str
    span: Span
    probability: float


Utterance = tuple[SpokenWord, ...]
"""What was heard in one sound."""


class Recogniser:
    """A model and the language it listens for; None: found out from the first sounds. Raises ToolError."""

    def __init__(self, model: WhisperModel, language: str | None) -> None:
        self._model = model
        if language not in (None, *model.supported_languages):
            raise ToolError(
                f"this recogniser does not know the language {language!r}",
                hint="a model for every language, such as --model base"
                if len(model.supported_languages) == 1
                else None,
            )
        self.language = language or (None if model.model.is_multilingual else "en")

    def hear(self, sounds: Sequence[Sound], beam: int) -> tuple[Utterance, ...]:
        """What is said in each of the sounds, none longer than ``MOST_MS``."""
        features, frames = self._features(sounds)
        encoded = self._model.encode(features)
        tokenizer = self._tokenizer(encoded)
        prompt = self._model.get_prompt(tokenizer, [], without_timestamps=True)
        longest_s = max(frames) / self._model.frames_per_second
        results = self._model.model.generate(
            encoded,
            [prompt] * len(sounds),
            beam_size=beam,
            max_length=min(self._model.max_length, len(prompt) + 8 + round(MOST_TOKENS_A_SECOND * longest_s)),
            suppress_tokens=get_suppressed_tokens(tokenizer, [-1]),
            sampling_temperature=0,
        )
        tokens = [[token for token in r.sequences_ids[0] if token < tokenizer.eot] for r in results]
        aligned = self._model.find_alignment(tokenizer, tokens, encoded, frames)
        return tuple(_words(rows, tokenizer.language_code) for rows in aligned)

    def likelihoods(self, asked: Sequence[tuple[Sound, Sequence[str]]]) -> tuple[tuple[float, ...], ...]:
        """How likely each text is to be what is said in the sound it comes with, in natural logarithms: the network's
        own probability of each of its tokens behind those before it, all multiplied. No sound is longer than
        ``MOST_MS``; those that are no longer than ``ALIKE_MS`` are told the same whatever they are asked with."""
        features, frames = self._features([sound for sound, _ in asked])
        encoded = self._model.encode(features)
        tokenizer = self._tokenizer(encoded)
        places = [place for place, (_, texts) in enumerate(asked) for _ in texts]
        most = self._model.max_length // 2
        tokens = [tokenizer.encode(f" {text}")[:most] for _, texts in asked for text in texts]
        own_frames = [frames[place] for place in places]
        answers = self._model.model.align(_rows(encoded, places), tokenizer.sot_sequence, tokens, own_frames)
        logs = (sum(math.log(max(LEAST_PROBABILITY, each)) for each in row.text_token_probs) for row in answers)
        return tuple(tuple(islice(logs, len(texts))) for _, texts in asked)

    def _features(self, sounds: Sequence[Sound]) -> tuple[NDArray[np.float32], list[int]]:
        """Shape (sounds, mels, frames), filled with zeros at the end; and how many frames each sound has."""
        found = [self._model.feature_extractor(sound)[:, :-1] for sound in sounds]
        frames = [min(each.shape[1], MOST_MS // 10) for each in found]
        width = min(MOST_MS, max(LEAST_MS, max(frames) * 10 + SPARE_MS)) // 10
        out = np.zeros((len(found), found[0].shape[0], width + width % 2), np.float32)
        for row, each, count in zip(out, found, frames, strict=True):
            row[:, :count] = each[:, :count]
        return out, frames

    def _tokenizer(self, encoded: object) -> Tokenizer:
        if self.language is None:
            guesses: dict[str, float] = {}
            for sound in self._model.model.detect_language(encoded):
                for token, probability in sound:
                    guesses[token] = guesses.get(token, 0.0) + probability
            self.language = max(guesses, key=guesses.__getitem__)[2:-2]
        model = self._model
        return Tokenizer(model.hf_tokenizer, model.model.is_multilingual, task="transcribe", language=self.language)


def _rows(encoded: Any, places: Sequence[int]) -> Any:
    """The rows of what the network made of its sounds at these places, as it takes them again."""
    on_cpu = encoded if isinstance(encoded, np.ndarray) else np.asarray(encoded.to_device(ctranslate2.Device.cpu))
    return ctranslate2.StorageView.from_array(np.ascontiguousarray(on_cpu[list(places)]))


def _words(rows: Sequence[dict[str, Any]], language: str) -> Utterance:
    """The tokens' rows as words; what follows without a space belongs to the word before, a mark in any case."""
    words: list[SpokenWord] = []
    for row in rows:
        text: str = row["word"]
        mark = not any(map(str.isalnum, text))
        apart = text.startswith(" ") or (language in _NO_SPACES and not mark)
        start_ms, end_ms = (max(0, milliseconds(row[edge]) - LATE_MS) for edge in ("start", "end"))
        span = Span(start_ms, max(start_ms, end_ms))
        if mark and apart:
            continue
        if apart or not words:
            words.append(SpokenWord(text.strip(), span, float(row["probability"])))
        else:
            last = words[-1]
            words[-1] = replace(last, text=last.text + text.strip(), span=last.span if mark else last.span.hull(span))
    return tuple(word for word in words if any(map(str.isalnum, word.text)))
