"""Speech for the tests: published recordings with their phones, and voices made of buzz."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile

from lessoncut.take.samples import RATE_HZ, Samples
from lessoncut.teaching.records import ReadPhone
from lessoncut.times import Span

FOLDER = Path(__file__).parent / "published"


@dataclass(frozen=True)
class Recording:
    name: str
    text: str
    samples: Samples
    phones: tuple[ReadPhone, ...]

    @property
    def words(self) -> tuple[Span, ...]:
        spans: dict[int, Span] = {}
        for phone in self.phones:
            spans[phone.word] = phone.span.hull(spans.get(phone.word, phone.span))
        return tuple(spans.values())


def recordings() -> tuple[Recording, ...]:
    known = json.loads((FOLDER / "phones.json").read_text(encoding="utf-8"))
    return tuple(
        Recording(
            name,
            entry["text"],
            np.asarray(soundfile.read(FOLDER / f"{name}.flac", dtype="int16")[0], dtype=np.int16),
            tuple(ReadPhone(label, Span(start, end), word) for label, start, end, word in entry["phones"]),
        )
        for name, entry in known.items()
    )


def buzz(hz: float, length_ms: int, loudness: float = 0.1) -> Samples:
    """A tone with eight harmonics, 16 bits."""
    at_s = np.arange(length_ms * RATE_HZ // 1000) / RATE_HZ
    harmonics = np.arange(1, 9)[:, None]
    wave = loudness * (np.sin(2 * np.pi * hz * harmonics * at_s) / harmonics).sum(axis=0)
    sound: Samples = (wave * 32767).astype(np.int16)
    return sound


def silence(length_ms: int) -> Samples:
    return np.zeros(length_ms * RATE_HZ // 1000, dtype=np.int16)
