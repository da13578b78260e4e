"""How words become cues: worked examples, and what must hold for any words."""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import accumulate, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lessoncut.lesson.records import LessonWord
from lessoncut.outputs.caption_breaks import BreakCosts, broken
from lessoncut.outputs.captions import Captions, Utterance, captions
from lessoncut.times import FrameRate, Span
from tests.outputs.programmes import RATE_25, words

RATES = [FrameRate(Fraction(rate)) for rate in ("24000/1001", "24", "25", "30000/1001", "30", "50", "60000/1001", "60")]


def utterance(text: str, start_ms: int, word_ms: int = 340, pauses: dict[int, int] | None = None) -> Utterance:
    spoken = words(text, start_ms, word_ms, pauses)
    return Utterance("L001", Span(start_ms, spoken[-1].span.end_ms), spoken)


def made(*utterances: Utterance, rate: FrameRate = RATE_25, duration_ms: int = 600_000) -> Captions:
    return captions(utterances, duration_ms, rate, "en")


def texts(track: Captions) -> list[tuple[str, ...]]:
    return [cue.texts for cue in track.cues]


def test_a_short_sentence_is_one_line() -> None:
    assert texts(made(utterance("The ship was slow.", 1000))) == [("The ship was slow.",)]


def test_a_longer_one_is_broken_after_punctuation() -> None:
    track = made(utterance("The ship was full of sheep, and the sheep were fast asleep.", 1000))
    assert texts(track) == [("The ship was full of sheep,", "and the sheep were fast asleep.")]


def test_without_punctuation_before_a_conjunction_and_never_inside_a_pair() -> None:
    track = made(utterance("We keep the lamp beside the window because nobody sails at night.", 1000))
    assert texts(track) == [("We keep the lamp beside the window", "because nobody sails at night.")]


def test_a_sentence_of_more_than_two_lines_becomes_several_cues() -> None:
    text = (
        "The keeper of the lamp wrote down the name of every boat, and when the tide turned"
        " he read them aloud to the empty quay, one after another."
    )
    track = made(utterance(text, 1000))
    assert texts(track) == [
        ("The keeper of the lamp wrote down the name", "of every boat, and when the tide turned"),
        ("he read them aloud to the empty quay,", "one after another."),
    ]


def test_two_sentences_are_two_cues() -> None:
    track = made(utterance("The tide is out. The boats lie on the sand.", 1000))
    assert texts(track) == [("The tide is out.",), ("The boats lie on the sand.",)]


def test_a_word_too_short_to_be_shown_alone_stands_above_its_neighbour() -> None:
    track = made(utterance("No.", 1000, 250), utterance("The boats lie on the sand.", 1400))
    assert texts(track) == [("No.", "The boats lie on the sand.")]


def test_a_long_pause_inside_a_line_parts_it() -> None:
    track = made(utterance("asleep in the hold until the storm has passed.", 1000, pauses={3: 2600}))
    assert texts(track) == [("asleep in the hold",), ("until the storm has passed.",)]


@pytest.mark.parametrize("rate", RATES, ids=lambda rate: str(rate.per_second))
def test_a_cue_begins_on_the_first_frame_of_its_speech_and_hangs_on_half_a_second(rate: FrameRate) -> None:
    track = made(utterance("The ship was slow.", 1003), rate=rate)
    (cue,) = track.cues
    frame_ms = 1000 / rate.per_second
    assert 1003 <= rate.start_s(cue.first_frame) * 1000 < 1003 + frame_ms
    assert 2363 + 500 - frame_ms < rate.start_s(cue.end_frame) * 1000 <= 2363 + 500


@pytest.mark.parametrize(
    ("rate", "two_frames_ms", "five_sixths_frames", "seven_seconds_frames"),
    [
        # standards of the trade worked out per frame rate: gap of two frames; frames in 5/6 s and in 7 s
        (RATES[0], 83.42, 20, 167),
        (RATES[1], 83.33, 20, 168),
        (RATES[2], 80.00, 21, 175),
        (RATES[3], 66.73, 25, 209),
        (RATES[4], 66.67, 25, 210),
        (RATES[5], 40.00, 42, 350),
        (RATES[6], 33.37, 50, 419),
        (RATES[7], 33.33, 50, 420),
    ],
    ids=lambda value: str(value.per_second) if isinstance(value, FrameRate) else str(value),
)
def test_the_limits_in_frames(
    rate: FrameRate, two_frames_ms: float, five_sixths_frames: int, seven_seconds_frames: int
) -> None:
    """The frame counts are those of the Netflix guide: 20 at 24, 25 at 29.97; a gap of two at any rate."""
    short = made(utterance("No.", 1000, 100), rate=rate).cues[0]
    assert short.end_frame - short.first_frame == five_sixths_frames
    close = made(utterance("The ship was slow.", 1000), utterance("The sheep were fast.", 2500), rate=rate).cues
    assert float((close[1].first_frame - close[0].end_frame) / rate.per_second * 1000) == pytest.approx(
        two_frames_ms, abs=0.01
    )
    long = made(utterance("The ship was slow.", 1000, 1700), rate=rate).cues[0]
    assert long.end_frame - long.first_frame == seven_seconds_frames


def test_a_pause_that_half_a_second_would_nearly_fill_is_shared_out() -> None:
    """A pause of 0.8 s: the cue ends half a second before the next, not 0.3 s."""
    track = made(utterance("The ship was slow.", 1000), utterance("The sheep were fast.", 3160))
    assert track.cues[1].first_frame - track.cues[0].end_frame == 13


def test_nothing_hangs_on_into_speech_that_has_no_caption() -> None:
    unread = Utterance(None, Span(2600, 4000), ())
    track = made(utterance("The ship was slow.", 1000), unread)
    assert track.span(track.cues[0]).end_ms == 2600 - 80


def test_the_last_cue_ends_with_the_programme() -> None:
    track = made(utterance("The ship was slow.", 1000), duration_ms=2600)
    assert track.span(track.cues[0]).end_ms == 2600


def test_no_words_no_cues() -> None:
    assert made().cues == ()
    assert made(Utterance(None, Span(0, 900), ())).cues == ()


_TEXT = st.text(alphabet="abcdeiou", min_size=1, max_size=14)
_MARK = st.sampled_from(["", "", "", ",", ".", "?", ":"])
_FUNCTION_WORD = st.sampled_from(["the", "and", "in", "she", "have", "not", "Mr.", "because"])


@st.composite
def spoken_words(draw: st.DrawFn, most: int = 60) -> list[LessonWord]:
    count = draw(st.integers(1, most))
    out: list[LessonWord] = []
    at_ms = draw(st.integers(0, 2000))
    for _ in range(count):
        text = draw(_FUNCTION_WORD) if draw(st.booleans()) else draw(_TEXT) + draw(_MARK)
        length_ms = draw(st.integers(60, 900))
        out.append(LessonWord(text, Span(at_ms, at_ms + length_ms)))
        at_ms += length_ms + draw(st.sampled_from([0, 0, 0, 30, 120, 300, 700, 1000, 2500]))
    return out


@settings(max_examples=150, deadline=None)
@given(spoken_words(), st.sampled_from(RATES))
def test_what_holds_for_any_words(spoken: list[LessonWord], rate: FrameRate) -> None:
    duration_ms = spoken[-1].span.end_ms + 300
    track = captions(
        [Utterance("L001", Span(spoken[0].span.start_ms, spoken[-1].span.end_ms), tuple(spoken))],
        duration_ms,
        rate,
        "en",
    )
    assert [word for cue in track.cues for word in cue.words] == spoken, "every word once, in order"
    for cue in track.cues:
        assert 1 <= len(cue.lines) <= 2
        assert all(len(text) <= 42 for text in cue.texts)
        assert track.span(cue).start_ms >= cue.heard.start_ms, "never before its first word"
        assert track.span(cue).end_ms <= max(
            cue.heard.end_ms + 500, track.span(cue).start_ms + 834 + math.ceil(1000 / rate.per_second)
        )
        assert all(b.span.start_ms - a.span.end_ms < 1000 for a, b in pairwise(cue.words)), "no long pause inside"
        assert cue.first_frame < cue.end_frame <= max(rate.frame_at(duration_ms), cue.first_frame + 1)
    for one, other in pairwise(track.cues):
        assert other.first_frame - one.end_frame >= 2 or one.end_frame - one.first_frame == 1


@settings(max_examples=60, deadline=None)
@given(spoken_words(most=7))
def test_the_cheapest_way_is_the_cheapest_of_all_ways(spoken: list[LessonWord]) -> None:
    """The slow, obvious way: the total of every partition into cues and lines."""
    costs = BreakCosts(spoken, "en")

    def total(way: list[tuple[int, ...]]) -> float:
        firsts = accumulate((sum(lines) for lines in way), initial=0)
        return sum(costs.of_cue(first, lines) for first, lines in zip(firsts, way, strict=False))

    assert total(broken(spoken, "en")) == pytest.approx(min(map(total, _all_ways(len(spoken)))))


def _all_ways(count: int) -> list[list[tuple[int, ...]]]:
    """Every way to put ``count`` words into cues of one or two lines."""
    if not count:
        return [[]]
    ways: list[list[tuple[int, ...]]] = []
    for first in range(1, count + 1):
        shapes: list[tuple[int, ...]] = [(first,), *((upper, first - upper) for upper in range(1, first))]
        ways += [[shape, *rest] for rest in _all_ways(count - first) for shape in shapes]
    return ways
