from __future__ import annotations

import time
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import soundfile

from lessoncut.codec import decode, dumps, encode, loads
from lessoncut.errors import ChoiceError
from lessoncut.hearing.align import Aligner
from lessoncut.hearing.records import AlignmentRequest
from lessoncut.matching.records import Match, Pass, PassKind, Reading, ReadWord
from lessoncut.outputs.target_sounds import heard
from lessoncut.script.records import Line, Script, Section
from lessoncut.take.measure import measure
from lessoncut.take.samples import PER_MS, Samples
from lessoncut.teaching.melody import tone
from lessoncut.teaching.records import Contour, ReadPhone, Study
from lessoncut.teaching.study import study
from lessoncut.times import Span
from lessoncut.wording import spoken
from tests.teaching.speech import buzz, recordings, silence

PUBLISHED = Path(__file__).parents[1] / "hearing" / "published"


def _reading(number: int, line: Line, one: Pass, words: list[Span]) -> Reading:
    span = words[0].hull(words[-1])
    read = tuple(ReadWord(text, at, text) for text, at in zip(spoken(line.text), words, strict=True))
    return Reading(f"R{number}", line.id, one.id, "full", True, span, span, read, (), 1.0)


def _scene(
    repeat_stretch: int = 2, repeat_hz: float = 200.0, repeat_rise: float = 0.05, repeat_loud: int | None = None
) -> tuple[Script, Match, Samples]:
    """Two lines of four words read twice in buzz, which rises by 5% from word to word.

    In the repeat every word takes ``repeat_stretch`` times as long, and word ``repeat_loud`` is louder.
    """
    lines = (Line("L001", "Vera saw three vans.", 0, True), Line("L002", "We went home late.", 0, True))
    script = Script("Vans", (Section("Passage", passage=True),), lines)
    parts: list[Samples] = [silence(200)]
    at_ms = 200
    readings: list[Reading] = []
    passes: list[Pass] = []
    kinds: list[tuple[PassKind, int, float, float, int | None]] = [
        ("model", 1, 200.0, 0.05, None),
        ("repeat", repeat_stretch, repeat_hz, repeat_rise, repeat_loud),
    ]
    for kind, stretch, hz, rise, loud in kinds:
        start_ms = at_ms
        own = Pass(kind, kind, Span(0, 0))
        for line in lines:
            spans = []
            for step in range(4):
                length_ms = 200 * stretch
                parts += [buzz(hz * (1 + rise * step), length_ms, 0.5 if step == loud else 0.1), silence(20)]
                spans.append(Span(at_ms, at_ms + length_ms))
                at_ms += length_ms + 20
            parts.append(silence(500))
            at_ms += 500
            readings.append(_reading(len(readings) + 1, line, own, spans))
        passes.append(Pass(kind, kind, Span(start_ms, at_ms)))
    return script, Match(tuple(passes), tuple(readings), (), 1.0), np.concatenate(parts)


def _study(scene: tuple[Script, Match, Samples], **choices: object) -> Study:
    script, match, samples = scene
    return study(script, match, samples, measure(samples), **choices)  # type: ignore[arg-type]


def test_pace_pass_by_pass_and_the_repeat_beside_the_model() -> None:
    found = _study(_scene(repeat_stretch=2))
    assert [one.kind for one in found.passes] == ["model", "repeat"]
    assert found.passes[0].syllables == 9
    assert found.passes[0].rate == pytest.approx(9 / 1.72, abs=0.02)
    assert [one.slower for one in found.comparisons] == pytest.approx([1.93, 1.93], abs=0.03)
    assert not any(one.other_melody for one in found.comparisons)


def test_a_repeat_with_another_melody_is_told() -> None:
    found = _study(_scene(repeat_hz=260.0, repeat_rise=-0.15))
    assert all(one.other_melody for one in found.comparisons)
    assert {remark.says for remark in found.remarks if remark.word is None} == {
        "the repeat has another melody than the model reading"
    }


def test_a_repeat_with_another_stress_is_told_word_by_word() -> None:
    found = _study(_scene(repeat_loud=0))
    assert all(0 in one.other_stress for one in found.comparisons)
    assert "“Vera” has another stress in the repeat than in the model reading" in {one.says for one in found.remarks}
    assert not any(one.other_melody for one in found.comparisons)


def test_the_contour_follows_the_voice_and_the_median_is_the_speakers() -> None:
    found = _study(_scene())
    assert found.median_hz == pytest.approx(215, rel=0.03)
    contour = found.readings[0].contour
    assert contour is not None
    first = [st for st in contour.semitones[2:18] if st is not None]
    assert np.median(first) == pytest.approx(12 * np.log2(200 / 215), abs=0.3)


def test_target_sounds_are_counted_in_the_passage() -> None:
    found = _study(_scene(), sounds="v/w")
    assert [(table.sound, table.total) for table in found.targets.coverage] == [("V", 2), ("W", 2)]
    assert found.targets.pairs == ()
    with pytest.raises(ChoiceError):
        _study(_scene(), sounds="qq")


def test_another_language_keeps_pauses_and_melody_and_says_what_is_missing() -> None:
    found = _study(_scene(), language="de", sounds="v/w")
    assert found.readings[0].contour is not None
    assert found.readings[0].syllables == 0
    assert "pronouncing dictionary" in found.left_out[0]


def test_readings_that_are_partial_or_not_kept_are_not_studied() -> None:
    script, match, samples = _scene()
    first = match.readings[0]
    other = Reading(first.id, first.line_id, first.pass_id, "partial", True, first.span, first.cut, (), (), 1.0)
    found = _study((script, Match(match.passes, (other, *match.readings[1:]), (), 1.0), samples))
    assert [reading.reading_id for reading in found.readings] == ["R2", "R3", "R4"]


def test_words_that_do_not_fit_the_line_leave_its_times_out() -> None:
    script, match, samples = _scene()
    first = match.readings[0]
    fewer = Reading(
        first.id, first.line_id, first.pass_id, "full", True, first.span, first.cut, first.words[:2], (), 1.0
    )
    found = _study((script, Match(match.passes, (fewer, *match.readings[1:]), (), 1.0), samples))
    assert found.readings[0].word_spans == (None,) * 4
    assert found.readings[0].prominence == ()


def test_a_study_survives_json() -> None:
    found = _study(_scene(), sounds="v w")
    assert decode(Study, loads(dumps(encode(found)))) == found


def test_aligned_phones_are_used_and_counted_by_the_lines_words() -> None:
    recording = recordings()[0]
    line = Line("L001", recording.text, 0, True)
    script = Script("Real", (Section("Passage", passage=True),), (line,))
    one = Pass("model", "model", Span(0, 10_000))
    match = Match((one,), (_reading(1, line, one, list(recording.words)),), (), 1.0)
    found = study(script, match, recording.samples, measure(recording.samples), phones={"R1": recording.phones})
    assert found.left_out == ()
    reading = found.readings[0]
    assert reading.phones == recording.phones
    assert len(reading.prominence) == len(recording.words)
    assert all(before.word < after.word for before, after in pairwise(reading.prominence))
    assert 3.0 < reading.rate < 7.0, "read speech lies between 3 and 7 syllables a second (from memory)"


def test_target_sounds_are_heard_where_published_labels_have_them() -> None:
    """CMU ARCTIC, slt, a0009, with the labels that came with it: every /s/, /t/ and /g/ starts within 40 ms."""
    samples = np.asarray(soundfile.read(PUBLISHED / "arctic_a0009.flac", dtype="int16")[0], np.int16)
    line = Line("L001", "He turned sharply, and faced Gregson across the table.", 0, True)
    aligner, whole = Aligner(samples), AlignmentRequest(line.id, spoken(line.text), Span(0, len(samples) // PER_MS))
    laid = [ReadPhone(phone.phone, phone.span, phone.word) for phone in aligner.phones(whole)]
    words = [word.span for word in aligner.align([whole])[0].words]
    script = Script("Real", (Section("Passage", passage=True),), (line,))
    one = Pass("model", "model", whole.window)
    match = Match((one,), (_reading(1, line, one, words),), (), 1.0)
    found = study(script, match, samples, measure(samples), phones={"R1": laid}, sounds="s t g")
    rule = found.rule(line.id)
    assert rule is not None
    here = [
        (place.sound.lower(), span.start_ms) for place, span in heard(found.targets.places, rule, found.readings[0])
    ]
    labels = [row.split() for row in (PUBLISHED / "arctic_a0009_phone.lab").read_text(encoding="ascii").splitlines()]
    told = [(context.split("-")[1].split("+")[0], int(start) // 10_000) for start, _, context in labels]
    wanted = [(phone, at_ms) for phone, at_ms in told if phone in ("s", "t", "g")]
    assert [phone for phone, _ in sorted(here, key=lambda one: one[1])] == [phone for phone, _ in wanted]
    assert sorted(at_ms for _, at_ms in here) == pytest.approx([at_ms for _, at_ms in wanted], abs=40)


@pytest.mark.parametrize(
    ("row", "expected"),
    [([0.0] * 10 + [-4.0] * 10, "fall"), ([0.0] * 10 + [5.0] * 10, "rise"), ([0.0] * 20, "level"), ([0.0] * 4, None)],
)
def test_the_tone_at_the_end(row: list[float], expected: str | None) -> None:
    contour = Contour(1000, 10, tuple(row))
    assert tone(contour, Span(1000, 1000 + 10 * len(row))) == expected


def test_a_study_takes_under_a_twentieth_of_the_time_it_studies() -> None:
    """The bar is a fifth of the take for everything that teaching adds, outputs included."""
    recording = recordings()[1]
    line = Line("L001", recording.text, 0, True)
    script = Script("Real", (Section("Passage", passage=True),), (line,))
    one = Pass("model", "model", Span(0, 10_000))
    match = Match((one,), (_reading(1, line, one, list(recording.words)),), (), 1.0)
    levels = measure(recording.samples)
    phones: dict[str, tuple[ReadPhone, ...]] = {"R1": recording.phones}
    study(script, match, recording.samples, levels, phones=phones)
    start = time.process_time()
    for _ in range(3):
        study(script, match, recording.samples, levels, phones=phones)
    spent_s = (time.process_time() - start) / 3
    assert spent_s < 0.05 * len(recording.samples) / 16000
