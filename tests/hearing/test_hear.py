"""The whole hearing with the real recogniser, on published readings of known words."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import jiwer
import numpy as np
import pytest
import soundfile

from lessoncut.hearing.hear import Settings, hear
from lessoncut.take.measure import measure
from lessoncut.take.samples import RATE_HZ, Samples
from lessoncut.times import Span
from lessoncut.wording import spoken

pytestmark = pytest.mark.slow
PUBLISHED = Path(__file__).parent.parent / "teaching" / "published"
PAUSE_S = 4.0


class _Settings:
    model = "tiny.en"
    language = "en"
    device = "cpu"


SETTINGS: Settings = _Settings()


@pytest.fixture(scope="module")
def take() -> tuple[Samples, list[tuple[Span, str]]]:
    """The published readings with pauses of room tone between, each twice; where each stands and what it says."""
    room = np.random.default_rng(1).normal(0, 10, round(PAUSE_S * RATE_HZ)).astype(np.int16)
    texts: dict[str, Any] = json.loads((PUBLISHED / "phones.json").read_text())
    pieces, readings = [room], []
    for name in [*texts, *texts]:
        samples, _ = soundfile.read(PUBLISHED / f"{name}.flac", dtype="int16")
        start_ms = sum(map(len, pieces)) * 1000 // RATE_HZ
        readings.append((Span(start_ms, start_ms + len(samples) * 1000 // RATE_HZ), texts[name]["text"]))
        pieces += [samples, room]
    return np.concatenate(pieces), readings


def test_every_reading_is_heard_in_its_place_and_nothing_in_the_pauses(
    take: tuple[Samples, list[tuple[Span, str]]],
) -> None:
    """The sentences are those of CMU ARCTIC and LibriVox, see ``tests/teaching/published/SOURCES.md``."""
    samples, readings = take
    heard = hear(samples, measure(samples), SETTINGS)
    assert all(any(word.span.overlap_ms(span) for span, _ in readings) for word in heard.words)
    said = [" ".join(spoken(text)) for _, text in readings]
    found = [
        " ".join(s for word in heard.words if span.contains(word.span.middle_ms) for s in spoken(word.text))
        for span, _ in readings
    ]
    assert jiwer.wer(said, found) < 0.12
    assert all(word.voiced > 0.35 for word in heard.words)


def test_a_run_goes_on_where_an_earlier_one_stopped(take: tuple[Samples, list[tuple[Span, str]]]) -> None:
    samples, _ = take
    levels = measure(samples)
    kept: dict[str, Any] = {}
    whole = hear(samples, levels, SETTINGS, keep=lambda name, words, _: kept.update({name: words}))
    again: dict[str, Any] = {}
    resumed = hear(
        samples,
        levels,
        SETTINGS,
        known=dict(list(kept.items())[:2]),
        keep=lambda name, words, _: again.update({name: words}),
    )
    assert resumed.words == whole.words
    assert len(again) == len(kept) - 2
