"""Wordings are weighed on the take's sound, by a recogniser that is loaded when it is asked."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from lessoncut.hearing import model
from lessoncut.hearing.records import Wordings
from lessoncut.hearing.weigh import MOST_MS, Weigher
from lessoncut.times import Span
from lessoncut.workflow.records import HearingSettings


def test_each_question_gets_its_own_sound_and_what_is_too_long_no_answer(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The likelihoods told are how long the sound is, and how long the text."""
    loaded: list[str] = []
    monkeypatch.setattr(model, "find_model", lambda *_: SimpleNamespace(name="small"))
    monkeypatch.setattr(model, "load", lambda files, device: loaded.append(f"{files.name} on {device}"))
    monkeypatch.setattr("lessoncut.hearing.recognise.Recogniser", lambda *_: SimpleNamespace(likelihoods=_lengths))
    np.save(tmp_path / "sound.npy", np.zeros(16 * 60_000, np.int16))
    weigher = Weigher(tmp_path / "sound.npy", HearingSettings(device="cpu"), "en")
    assert not loaded
    told: list[float] = []
    short, long = Wordings(Span(500, 2500), ("no", "know")), Wordings(Span(0, MOST_MS + 1), ("no",))
    answers = weigher.weigh([short, long], told.append)
    assert [answer.request for answer in answers] == [short, long]
    assert [answer.logs for answer in answers] == [(32_000.0, 2.0, 32_000.0, 4.0), ()]
    assert told == [0.5, 1.0]
    weigher.weigh([short])
    assert loaded == ["small on cpu"]


def _lengths(sound: Sequence[float], texts: Sequence[str]) -> tuple[float, ...]:
    return tuple(float(length) for text in texts for length in (len(sound), len(text)))
