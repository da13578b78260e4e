"""The study of an opened lesson: which sound is laid where, and that it is laid once."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessoncut.matching.records import Aside, Match, Reading, ReadWord
from lessoncut.progress import Progress, no_progress
from lessoncut.times import Span
from lessoncut.workflow.analyze import Request, analyze
from lessoncut.workflow.deciding import decide_finding
from lessoncut.workflow.export import export, wanted
from lessoncut.workflow.lesson import paced, pacing_of
from lessoncut.workflow.studying import AROUND_MS, Targets, phone_requests, studied
from tests.workflow.acting import SAID, SCRIPT, Ears, perform

WITH_RETAKE = SAID.replace(" 13.0  the lamp", " 11.2  vera climbs the winding stairs   12.6\n 13.0  the lamp")


def told(names: list[str]) -> Callable[[str], Progress]:
    def stages(name: str) -> Progress:
        names.append(name)
        return no_progress

    return stages


@pytest.fixture
def request_(tmp_path: Path) -> Request:
    (tmp_path / "script.md").write_text(SCRIPT)
    return Request((perform(WITH_RETAKE, tmp_path / "take.wav"),), tmp_path / "script.md")


def test_the_sounds_of_every_full_reading_are_laid_once(
    tmp_path: Path, request_: Request, monkeypatch: pytest.MonkeyPatch
) -> None:
    ears = Ears(WITH_RETAKE, monkeypatch)
    lesson = analyze(request_, tmp_path / "lesson")
    stages: list[str] = []
    first = studied(lesson, Targets("v"), told(stages))
    assert ears.laid == len([one for one in lesson.found.match.readings if one.kind == "full"]) == 9
    assert first.left_out == ()
    assert all(len(one.phones) == len(one.word_spans) for one in first.readings)
    assert "Laying the sounds" in stages

    again: list[str] = []
    decided = decide_finding(lesson.folder, lesson.found.findings[0].id, "keep_earlier")
    second = studied(decided, Targets("w"), told(again))
    assert {one.reading_id for one in second.readings} != {one.reading_id for one in first.readings}
    assert (ears.laid, second.left_out, again) == (9, (), ["Measuring the readings"])


def test_in_another_language_a_handout_alone_tells_what_it_lacks(
    tmp_path: Path, request_: Request, monkeypatch: pytest.MonkeyPatch
) -> None:
    ears = Ears(WITH_RETAKE, monkeypatch, language="fr")
    lesson = analyze(request_, tmp_path / "lesson")
    study = studied(lesson, Targets())
    done = export(paced(lesson, pacing_of(lesson.folder)), study, wanted(["handout-html", "captions-srt"]))
    assert ears.laid == 0
    assert [one.path is not None for one in done] == [True, True]
    assert [one.remarks for one in done] == [(study.unruled,), ()]
    assert study.unruled
    assert "no pronouncing dictionary here for “fr”" in study.unruled
    assert study.guessed is None, "without a dictionary nothing is guessed of single sounds"


@given(st.lists(st.tuples(st.integers(0, 900), st.integers(1, 3000), st.booleans()), min_size=1, max_size=9))
def test_no_window_reaches_the_speech_beside_it(speech: list[tuple[int, int, bool]]) -> None:
    spans, at_ms = [], 0
    for pause_ms, length_ms, _ in speech:
        spans.append(Span(at_ms + pause_ms, at_ms + pause_ms + length_ms))
        at_ms = spans[-1].end_ms
    readings = tuple(
        Reading(f"R{n}", "L001", None, "full", True, span, span, (ReadWord("word", span, None),), (), 1.0)
        for n, (span, (_, _, scripted)) in enumerate(zip(spans, speech, strict=True))
        if scripted
    )
    asides = tuple(Aside(span, ()) for span, (_, _, scripted) in zip(spans, speech, strict=True) if not scripted)
    windows = {id_: request.window for id_, request in phone_requests(Match((), readings, asides, 1.0)).items()}
    for reading in readings:
        window = windows[reading.id]
        assert window.start_ms <= reading.span.start_ms < reading.span.end_ms <= window.end_ms
        assert window.start_ms >= max(0, reading.span.start_ms - AROUND_MS)
        assert window.end_ms <= reading.span.end_ms + AROUND_MS
        assert all(not window.overlap_ms(other) for other in spans if other != reading.span)
    assert all(before.end_ms <= after.end_ms for before, after in pairwise(windows.values()))
