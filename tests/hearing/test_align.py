"""The aligner on real read speech (LibriVox, public domain; see ``sample_media/README.md``) with its truth file."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from lessoncut import wording
from lessoncut.hearing.align import Aligner, no_aligner
from lessoncut.hearing.records import AlignmentRequest
from lessoncut.hearing.timbre import timbre
from lessoncut.take.decode import decode
from lessoncut.take.probe import probe
from lessoncut.take.samples import Samples
from lessoncut.times import Span, milliseconds

READER = Path(__file__).parents[2] / "sample_media" / "reader"
CONTEXT_MS = 150


@pytest.fixture(scope="module")
def truth() -> dict[str, Any]:
    told: dict[str, Any] = json.loads((READER / "truth.json").read_text(encoding="utf-8"))
    return told


@pytest.fixture(scope="module")
def samples(tmp_path_factory: pytest.TempPathFactory) -> Samples:
    return decode(probe([READER / "reader.m4a"]), tmp_path_factory.mktemp("reader") / "samples.npy")


def spans_of(truth: dict[str, Any]) -> list[tuple[str, Span]]:
    return [
        (reading["line"], Span(milliseconds(reading["start_s"]), milliseconds(reading["end_s"])))
        for reading in truth["readings"]
        if reading["kind"] == "full" and reading["kept"]
    ]


def request(words: tuple[str, ...], span: Span) -> AlignmentRequest:
    return AlignmentRequest("L001", words, span.padded(CONTEXT_MS, CONTEXT_MS))


def test_lines_are_laid_where_they_were_read(truth: dict[str, Any], samples: Samples) -> None:
    texts = {line["id"]: wording.spoken(line["text"]) for line in truth["lines"]}
    places = spans_of(truth)
    answers = Aligner(samples).align([request(texts[line], span) for line, span in places])
    for (_, span), answer in zip(places, answers, strict=True):
        assert answer.words
        assert abs(answer.words[0].span.start_ms - span.start_ms) <= 120
        assert abs(answer.words[-1].span.end_ms - span.end_ms) <= 120
        assert answer.mean_score > -35


def test_another_line_has_no_path_or_a_poor_one(truth: dict[str, Any], samples: Samples) -> None:
    texts = {line["id"]: wording.spoken(line["text"]) for line in truth["lines"]}
    places = spans_of(truth)
    aligner = Aligner(samples)
    for at, (line, span) in enumerate(places):
        other = next(name for name, _ in places[at + 1 :] + places[:at] if name != line)
        (own,), (strange,) = (aligner.align([request(texts[name], span)]) for name in (line, other))
        assert strange.mean_score < own.mean_score - 8


def test_words_no_dictionary_has_are_laid_by_their_letters(truth: dict[str, Any], samples: Samples) -> None:
    line, span = spans_of(truth)[0]
    words = wording.spoken(next(item["text"] for item in truth["lines"] if item["id"] == line))
    (answer,) = Aligner(samples).align([request((*words[:-1], f"{words[-1]}zzq"), span)])
    assert len(answer.words) in {0, len(words)}  # never half a line


def test_nothing_is_laid_on_too_little_sound_or_without_a_model(samples: Samples) -> None:
    asked = request(("one", "two"), Span(1000, 1020))
    assert Aligner(samples).align([AlignmentRequest("L001", ("one",), Span(1000, 1050))])[0].words == ()
    assert no_aligner([asked])[0].words == ()


def test_one_reader_sounds_like_one(truth: dict[str, Any], samples: Samples) -> None:
    by_line: dict[str, list[Span]] = {}
    for line, span in spans_of(truth):
        by_line.setdefault(line, []).append(span)
    pairs = [spans for spans in by_line.values() if len(spans) > 1]
    assert pairs
    for first, second, *_ in pairs:
        one, two = timbre(samples, first), timbre(samples, second)
        assert one is not None
        assert two is not None
        assert one.distance(two) < 0.42
    assert timbre(samples, Span(0, 100)) is None
