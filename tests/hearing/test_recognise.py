"""The recogniser's own steps around the network, with a network that answers as it is told."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import ctranslate2
import numpy as np
import pytest

from lessoncut.errors import ToolError
from lessoncut.hearing import recognise
from lessoncut.hearing.recognise import ALIKE_MS, LATE_MS, LEAST_MS, LEAST_PROBABILITY, MOST_MS, Recogniser
from lessoncut.times import Span

FRAME_SAMPLES = 160


class _Network:
    """Stands for a WhisperModel that hears the same rows of tokens in every sound."""

    frames_per_second = 100
    max_length = 448
    hf_tokenizer = None

    def __init__(self, rows: list[dict[str, Any]], languages: list[str], multilingual: bool) -> None:
        self.rows = rows
        self.supported_languages = languages
        self.widths: list[int] = []
        self.asked: dict[str, Any] = {}
        self.model = SimpleNamespace(
            is_multilingual=multilingual, generate=self._generate, detect_language=self._detect, align=self._align
        )

    def feature_extractor(self, sound: recognise.Sound) -> recognise.Sound:
        return np.ones((80, len(sound) // FRAME_SAMPLES + 1), np.float32)

    def encode(self, features: recognise.Sound) -> recognise.Sound:
        self.widths.append(features.shape[2])
        return features

    def get_prompt(self, tokenizer: object, previous: list[int], without_timestamps: bool) -> list[int]:
        assert tokenizer is not None
        assert (previous, without_timestamps) == ([], True)
        return [1, 2]

    def _generate(self, encoded: recognise.Sound, prompts: list[list[int]], **options: Any) -> list[Any]:
        self.asked = options
        assert len(prompts) == len(encoded)
        return [SimpleNamespace(sequences_ids=[[5, 6]]) for _ in prompts]

    @staticmethod
    def _detect(encoded: recognise.Sound) -> list[list[tuple[str, float]]]:
        return [[("<|de|>", 0.6), ("<|en|>", 0.4)] for _ in encoded][:1] + [[("<|en|>", 0.9)] for _ in encoded][1:]

    @staticmethod
    def _align(
        encoded: ctranslate2.StorageView, start: list[int], texts: list[list[int]], frames: list[int]
    ) -> list[Any]:
        """The likelier, the smaller the number of a token, and the shorter the sound."""
        assert (encoded.shape[0], start) == (len(texts), [1])
        return [
            SimpleNamespace(text_token_probs=[200 / (count * token) if token else 0.0 for token in text])
            for text, count in zip(texts, frames, strict=True)
        ]

    def find_alignment(
        self, tokenizer: object, tokens: list[list[int]], encoded: object, frames: list[int]
    ) -> list[list[dict[str, Any]]]:
        assert tokenizer is not None
        assert encoded is not None
        assert len(frames) == len(tokens)
        return [self.rows for _ in tokens]


@pytest.fixture(autouse=True)
def _tokens(monkeypatch: pytest.MonkeyPatch) -> None:
    def tokenizer(_: object, multilingual: bool, task: str, language: str) -> SimpleNamespace:
        assert multilingual in {True, False}
        assert task == "transcribe"
        encode = lambda text: [*map(int, text.split())]  # noqa: E731
        return SimpleNamespace(eot=100, language_code=language, sot_sequence=[1], encode=encode)

    monkeypatch.setattr(recognise, "Tokenizer", tokenizer)
    monkeypatch.setattr(recognise, "get_suppressed_tokens", lambda *_: ())


def _row(word: str, start: float, end: float, probability: float = 0.9) -> dict[str, Any]:
    return {"word": word, "start": start, "end": end, "probability": probability}


def _english(*rows: dict[str, Any]) -> _Network:
    return _Network(list(rows), ["en"], multilingual=False)


def _sound(seconds: float) -> recognise.Sound:
    return np.zeros(round(seconds * 16_000), np.float32)


def _hear(network: _Network, *seconds: float, language: str | None = "en") -> tuple[recognise.Utterance, ...]:
    return Recogniser(network, language).hear([_sound(length) for length in seconds], beam=5)


def test_words_come_earlier_by_the_network_s_lateness_and_never_before_the_sound() -> None:
    (heard,) = _hear(_english(_row(" The", 0.02, 0.5), _row(" river", 0.5, 1.1)), 2.0)
    assert [(word.text, word.span) for word in heard] == [
        ("The", Span(0, 500 - LATE_MS)),
        ("river", Span(500 - LATE_MS, 1100 - LATE_MS)),
    ]


def test_marks_join_the_word_before_and_take_no_time() -> None:
    rows = (
        _row(" well", 1.0, 1.5),
        _row("-", 1.5, 1.6),
        _row("known", 1.6, 2.0),
        _row(".", 2.0, 2.9),
        _row(" -", 3, 4),
    )
    (heard,) = _hear(_english(*rows), 5.0)
    assert [(word.text, word.span) for word in heard] == [("well-known.", Span(1000 - LATE_MS, 2000 - LATE_MS))]


def test_the_network_hears_as_much_as_the_longest_sound_but_neither_too_little_nor_too_much() -> None:
    network = _english()
    for lengths, width_ms in (((2.0, 1.0), LEAST_MS), ((18.0, 3.0), 18_500), ((29.9, 1.0), MOST_MS)):
        _hear(network, *lengths)
        assert network.widths.pop() == width_ms // 10
    assert network.asked["beam_size"] == 5
    assert network.asked["sampling_temperature"] == 0


def test_the_language_is_found_out_once_from_all_sounds_of_the_first_batch() -> None:
    network = _Network([], ["de", "en"], multilingual=True)
    recogniser = Recogniser(network, None)
    assert recogniser.language is None
    recogniser.hear([_sound(1.0), _sound(1.0)], beam=1)
    assert recogniser.language == "en"


def test_a_language_the_model_does_not_know_is_refused() -> None:
    with pytest.raises(ToolError, match="'de'") as caught:
        Recogniser(_english(), "de")
    assert "--model base" in str(caught.value)


def test_a_text_is_as_likely_as_all_its_tokens_are_together() -> None:
    recogniser = Recogniser(_english(), "en")
    (logs,) = recogniser.likelihoods([(_sound(2.0), ["4 5", "1 1 1", "0"])])
    assert logs == pytest.approx((math.log(1 / 20), 0.0, math.log(LEAST_PROBABILITY)))


def test_each_sound_is_asked_about_its_own_texts() -> None:
    network = _english()
    asked = [(_sound(2.0), ["4"]), (_sound(ALIKE_MS / 1000), []), (_sound(4.0), ["1", "2"])]
    found = Recogniser(network, "en").likelihoods(asked)
    assert [len(logs) for logs in found] == [1, 0, 2]
    assert found[0] == pytest.approx((math.log(1 / 4),))
    assert found[2] == pytest.approx((math.log(1 / 2), math.log(1 / 4)))
    assert network.widths == [LEAST_MS // 10]  # so that they are told the same as alone
