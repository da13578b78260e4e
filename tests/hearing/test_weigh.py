"""Wordings are weighed on the take's sound, by a recogniser that is loaded when it is asked."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from lessoncut.hearing import model
from lessoncut.hearing.recognise import ALIKE_MS
from lessoncut.hearing.records import Wordings
from lessoncut.hearing.weigh import AT_ONCE, MOST_MS, Weigher
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
    answers = weigher.weigh([long, short], told.append)
    assert [answer.request for answer in answers] == [long, short]
    assert [answer.logs for answer in answers] == [(), (32_000.0, 2.0, 32_000.0, 4.0)]
    assert told == [1.0]
    weigher.weigh([short])
    assert loaded == ["small on cpu"]


def test_questions_about_short_sounds_are_asked_together_and_answered_in_order(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    together: list[int] = []

    def counted(asked: Sequence[tuple[Sequence[float], Sequence[str]]]) -> tuple[tuple[float, ...], ...]:
        together.append(len(asked))
        return _lengths(asked)

    monkeypatch.setattr(model, "find_model", lambda *_: None)
    monkeypatch.setattr(model, "load", lambda *_: None)
    monkeypatch.setattr("lessoncut.hearing.recognise.Recogniser", lambda *_: SimpleNamespace(likelihoods=counted))
    np.save(tmp_path / "sound.npy", np.zeros(16 * 60_000, np.int16))
    lengths_ms = [900, ALIKE_MS + 1, 800, 700, ALIKE_MS, 600, 500]
    requests = [Wordings(Span(0, length_ms), ("no",)) for length_ms in lengths_ms]
    told: list[float] = []
    answers = Weigher(tmp_path / "sound.npy", HearingSettings(), "en").weigh(requests, told.append)
    assert [answer.logs[0] / 16 for answer in answers] == lengths_ms
    assert together == [AT_ONCE, 2, 1]
    assert told[-1] == 1.0


def _lengths(asked: Sequence[tuple[Sequence[float], Sequence[str]]]) -> tuple[tuple[float, ...], ...]:
    return tuple(tuple(float(length) for text in texts for length in (len(sound), len(text))) for sound, texts in asked)
