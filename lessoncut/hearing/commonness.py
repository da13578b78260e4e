"""How common a word is in spoken American English, from the language model that pocketsphinx carries."""

from __future__ import annotations

from functools import cache

from pocketsphinx import Config, LogMath, NGramModel, get_model_path

UNHEARD = -9.0
"""What a word gets that the model lacks."""


@cache
def _model() -> tuple[NGramModel, LogMath]:
    logarithms = LogMath()
    return NGramModel(Config(lm=None), logarithms, get_model_path("en-us/en-us.lm.bin")), logarithms


def commonness(word: str) -> float:
    """log10 of the word's share of all words: -1.4 for "the", about -4.5 for "wine"; never below ``UNHEARD``."""
    model, logarithms = _model()
    return max(UNHEARD, float(logarithms.log_to_log10(model.prob([word.lower()]))))
