from __future__ import annotations

import numpy as np
import pytest

from lessoncut.hearing.pitch import median_hz, pitch, semitones
from lessoncut.script.records import Line, Mark
from lessoncut.take.measure import measure
from lessoncut.teaching.records import Prominence, ReadPhone
from lessoncut.teaching.stress_measured import STRONG, prominence, remarks
from lessoncut.teaching.stress_rule import stress_of
from lessoncut.times import Span
from tests.teaching.speech import buzz, recordings, silence

TEXT = "Vera can wave well."


def _read(loud: list[float], long_ms: list[int]) -> tuple[Prominence, ...]:
    """One vowel a word, each as loud and as long as told, with a short silence after it."""
    parts, phones, at_ms = [], [], 0
    for word, (loudness, length_ms) in enumerate(zip(loud, long_ms, strict=True)):
        parts += [buzz(150, length_ms, loudness), silence(40)]
        phones.append(ReadPhone("EH", Span(at_ms, at_ms + length_ms), word))
        at_ms += length_ms + 40
    samples = np.concatenate(parts)
    return prominence(phones, frozenset(), measure(samples), None, 0)


def test_the_loud_word_and_the_long_word_are_strong() -> None:
    louder = _read([0.1, 0.02, 0.02, 0.02], [80] * 4)
    assert [one.strong for one in louder] == [True, False, False, False]
    longer = _read([0.05] * 4, [80, 80, 200, 80])
    assert [one.strong for one in longer] == [False, False, True, False]


def test_a_breath_that_runs_out_does_not_hide_a_strong_last_word() -> None:
    """Eight words, each 2 dB quieter than the one before; the last lies 8 dB over that fall, and under the first."""
    falling = [0.2 * 10 ** (-2 * number / 20) for number in range(8)]
    read = _read([*falling[:7], falling[7] * 2.5], [80] * 8)
    assert [one.word for one in read if one.strong] == [0, 1, 7]


@pytest.mark.parametrize("gain", [0.1, 3.0])
def test_the_microphone_drops_out(gain: float) -> None:
    loud, long_ms = [0.08, 0.02, 0.06, 0.02], [120, 60, 110, 70]
    plain = _read(loud, long_ms)
    other = _read([value * gain for value in loud], long_ms)
    assert [one.score for one in other] == pytest.approx([one.score for one in plain], abs=0.02)


def test_real_readings_lift_the_words_that_the_rule_stresses() -> None:
    """Published speech: a stressed word scores over an unstressed one in at least 7 of 10 pairs.

    The measure is the area under the curve; 0.5 is chance. Readers choose their own prominences, so the rule is no
    truth here: the paper that the weights follow (Kochanski et al. 2005) reports 75 to 80% for single syllables.
    """
    strong: list[float] = []
    weak: list[float] = []
    for recording in recordings():
        rule = stress_of(Line("L001", recording.text, 0, True))
        hz = pitch(recording.samples.astype(np.float64), 16000)
        middle = median_hz(hz)
        assert middle is not None
        words = recording.words
        ends = frozenset(
            word
            for word, span in enumerate(words)
            if word + 1 == len(words) or words[word + 1].start_ms - span.end_ms >= 150
        )
        for one in prominence(recording.phones, ends, measure(recording.samples), semitones(hz, middle), 0):
            (strong if rule.words[one.word].stressed else weak).append(one.score)
    assert len(strong) + len(weak) >= 40
    better = np.array(strong)[:, None] > np.array(weak)[None, :]
    assert better.mean() >= 0.7
    agree = sum(score >= STRONG for score in strong) + sum(score < STRONG for score in weak)
    assert agree / (len(strong) + len(weak)) >= 0.7, "measured beside the rule: 33 of 41 words when this was written"


def _one(word: int, score: float) -> Prominence:
    return Prominence(word, score, score, 2.0, score, score >= 0.15)


def test_a_marked_word_that_is_read_weak_is_named_with_its_evidence() -> None:
    line = Line("L001", TEXT, 0, True, marks=(Mark("stress", 9, 13),))
    found = remarks(line, stress_of(line), "P1", [_one(0, 0.5), _one(2, -0.8)])
    assert [remark.says for remark in found] == ["“wave” is marked, but read weak"]
    assert found[0].evidence == (
        "vowel 0.8 standard deviations quieter than the line's middle",
        "vowel 0.8 standard deviations shorter than the line's middle",
        "pitch moves 2.0 semitones in it",
    )


def test_an_unmarked_function_word_read_very_strong_is_named() -> None:
    line = Line("L001", TEXT, 0, True)
    assert [remark.says for remark in remarks(line, stress_of(line), None, [_one(1, 1.4)])] == [
        "“can” is read strong, though the rule does not ask for it"
    ]


@pytest.mark.parametrize(("loudness", "duration"), [(-1.6, 0.5), (0.5, -1.6)])
def test_a_word_of_which_loudness_and_length_say_opposite_things_is_not_called_weak(
    loudness: float, duration: float
) -> None:
    line = Line("L001", TEXT, 0, True, marks=(Mark("stress", 9, 13),))
    assert remarks(line, stress_of(line), None, [Prominence(2, loudness, duration, 2.0, -0.8, False)]) == ()


def test_small_disagreements_are_not_worth_a_remark() -> None:
    line = Line("L001", TEXT, 0, True, marks=(Mark("stress", 9, 13),))
    assert remarks(line, stress_of(line), None, [_one(0, 0.0), _one(1, 0.6), _one(2, 0.0)]) == ()


def test_fewer_than_three_vowels_say_nothing() -> None:
    assert _read([0.1, 0.1], [80, 80]) == ()
