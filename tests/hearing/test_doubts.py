from __future__ import annotations

from dataclasses import replace

import pytest

from lessoncut.hearing.doubts import (
    HOLE_MS,
    doubtful,
    in_order,
    is_odd,
    loops,
    on_speech,
    swallowed,
    unlooped,
    unsqueezed,
    words_of,
    worth,
)
from lessoncut.hearing.records import HeardWord
from lessoncut.hearing.told import told
from lessoncut.times import Span


def _word(text: str, start_ms: int, end_ms: int, voiced: float = 1.0) -> HeardWord:
    return HeardWord(text, Span(start_ms, end_ms), 0.9, voiced)


def test_what_was_heard_well_is_not_doubted() -> None:
    hearing = told("""
         1.0  the river is wide and slow  2.8
         4.0  I do                        4.4
         6.0  nobody moved               6.9
    """)
    assert doubtful(hearing.speech, hearing.words) == ()


@pytest.mark.parametrize(
    ("row", "why"),
    [
        ("1.0  ...  1.3", "speech without words"),
        ("1.0  river  4.0", "two readings swallowed in one word"),
        ("1.0  the  1.4  river  3.9", "the same, beside another word"),
        ("1.0  the river is wide and slow and cold  1.5", "more than can be said"),
        ("1.0  no no no no no  2.5", "a loop"),
        ("1.0  come in come in come in come in  3.0", "a longer loop"),
        ("1.0  b-a-p-f-f-f-f-f-f  4.0", "a loop in one word"),
    ],
)
def test_what_cannot_be_all_that_was_said_is_doubted(row: str, why: str) -> None:
    hearing = told(row)
    assert doubtful(hearing.speech, hearing.words) == hearing.speech, why


def test_less_than_a_quarter_second_without_words_is_let_be() -> None:
    hearing = told("1.0  ...  1.2")
    assert doubtful(hearing.speech, hearing.words) == ()


def test_unsure_words_are_doubted_only_when_asked() -> None:
    hearing = told("1.0  ~the ~river ~is ~wide  2.5")
    assert doubtful(hearing.speech, hearing.words) == ()
    assert doubtful(hearing.speech, hearing.words, 0.5) == hearing.speech


def test_text_in_a_pause_makes_the_speech_beside_it_doubtful() -> None:
    hearing = told("""
         1.0  the river is wide  2.2
         2.5  [thank you]        3.0
        30.0  it runs cold      31.0
    """)
    assert doubtful(hearing.speech, hearing.words) == hearing.speech[:1]


def test_three_times_is_no_loop_and_four_times_is() -> None:
    for times, found in ((3, 0), (4, 8)):
        texts = ["once", *["come", "in"] * times, "again"]
        words = [_word(text, 300 * at, 300 * at + 250) for at, text in enumerate(texts)]
        assert len(loops(words)) == found


def test_a_word_before_a_pause_is_cut_to_its_own_speech() -> None:
    speech = [Span(1000, 1500), Span(2100, 4000)]
    assert on_speech(_word("river", 1200, 3000), speech) == _word("river", 1200, 1500)


def test_a_word_pulled_into_the_pause_before_it_is_cut_to_its_own_speech() -> None:
    speech = [Span(1000, 1500), Span(2100, 4000)]
    assert on_speech(_word("river", 1480, 2600), speech) == _word("river", 2100, 2600)


def test_a_word_with_no_speech_under_it_keeps_its_place_and_is_not_voiced() -> None:
    speech = [Span(1000, 1500), Span(2100, 4000)]
    assert on_speech(_word("you", 1600, 2000), speech) == _word("you", 1600, 2000, voiced=0.0)
    assert on_speech(_word("you", 1200, 1200), speech).voiced == 1.0
    assert on_speech(_word("you", 1700, 1700), speech).voiced == 0.0


def test_every_word_belongs_to_one_stretch() -> None:
    speech = [Span(1000, 1500), Span(2100, 4000)]
    words = [_word("a", 1100, 1300), _word("b", 1550, 1700, 0.0), _word("c", 2200, 2500), _word("d", 9000, 9100, 0.0)]
    assert words_of(speech, words) == [words[:2], words[2:]]
    assert words_of([], words) == []


def test_the_fuller_and_surer_hearing_is_worth_more() -> None:
    span = Span(1000, 3000)
    full = told("1.0  the river is wide  3.0").words
    assert worth(span, full) > worth(span, told("1.0  the river  3.0").words)
    assert worth(span, full) > worth(span, told("1.0  ~the ~river ~is ~wide  3.0").words)
    assert worth(span, full) > worth(span, told("1.0  wide wide wide wide wide  3.0").words)
    assert worth(span, full) > worth(span, [replace(word, voiced=0.0) for word in full])
    assert worth(span, ()) == 0.0


def test_too_many_words_for_the_time_are_odd() -> None:
    assert is_odd(Span(0, 400), told("0.0  a very good evening to everybody  0.4").words)
    assert not is_odd(Span(0, 1600), told("0.0  a very good evening to everybody  1.6").words)


def test_words_end_where_the_next_begins() -> None:
    words = in_order([_word("b", 1200, 1500), _word("a", 1000, 1400)])
    assert [(word.text, word.span) for word in words] == [("a", Span(1000, 1200)), ("b", Span(1200, 1500))]


def _row(text: str) -> tuple[HeardWord, ...]:
    """Words with their lengths in ms, one after another: "come:200 in:0"."""
    at_ms, words = 0, []
    for part in text.split():
        word, _, length = part.partition(":")
        words.append(_word(word, at_ms, at_ms + int(length)))
        at_ms += int(length)
    return tuple(words)


@pytest.mark.parametrize(
    ("heard", "left"),
    [
        # As they came: what was said once is given twice, and the second text has no time.
        ("I:140 let:200 go:0 I:0 let:40 go:400", "I:140 let:200 go:400"),
        ("all:160 the:200 same:40 All:0 the:0 same:180 all:0 the:0 same:145", "all:160 the:200 same:180"),
        (
            "was:180 not:200 old:560 he:150 was:180 not:200 old:40 he:0 was:0 not:0 old:560",
            "was:180 not:200 old:560 he:150 was:180 not:200 old:560",
        ),
        ("there:220 they:215 go.:420 There:0 they:0 go:275 dry:225", "there:220 they:215 go.:420 dry:225"),
        ("don't:365 rush.:180 Don't:0 rush.:165 wait:270", "don't:365 rush.:180 wait:270"),
    ],
)
def test_a_row_given_twice_without_time_for_it_is_heard_once(heard: str, left: str) -> None:
    assert [(w.text, w.span.length_ms) for w in unlooped(_row(heard))] == [
        (w.text, w.span.length_ms) for w in _row(left)
    ]


@pytest.mark.parametrize(
    "heard",
    [
        "there:220 they:215 go:420 there:200 they:180 go:275",
        "it:100 won't:0 feel:200",
        "the:0 river:300 the:0 wind:300",
    ],
)
def test_what_may_have_been_said_twice_stays(heard: str) -> None:
    assert unlooped(_row(heard)) == _row(heard)


def test_a_word_without_any_time_has_its_share_of_a_longer_one_before() -> None:
    """The network gave "of" what both took, and "sugar" a place behind the speech."""
    spoons, of = _word("spoons", 500, 800), _word("of", 800, 1610)
    words = (spoons, of, _word("sugar.", 1655, 1655, voiced=0.0))
    assert unsqueezed(words) == (spoons, _word("of", 800, 1070), _word("sugar.", 1070, 1610))
    later = (spoons, of, _word("sugar.", 1900, 1900, voiced=0.0))  # in the pause: invented
    assert unsqueezed(later) == later
    short = (spoons, _word("of", 800, 1000), _word("sugar.", 1040, 1040, voiced=0.0))  # no time for both
    assert unsqueezed(short) == short


@pytest.mark.parametrize(("hole_ms", "found"), [(HOLE_MS, 1), (HOLE_MS - 10, 0)])
def test_long_speech_without_a_word_beside_some_was_swallowed(hole_ms: int, found: int) -> None:
    """Before, between or behind its words."""
    for first_ms, second_ms in ((1000 + hole_ms, 1500 + hole_ms), (1000, 1500 + hole_ms), (1000, 1500)):
        words = [_word("river", first_ms, first_ms + 500), _word("wide", second_ms, second_ms + 500)]
        holes = swallowed([Span(1000, 2000 + hole_ms)], words)
        assert [hole.length_ms for hole in holes] == [hole_ms] * found
    assert swallowed([Span(1000, 9000)], []) == ()  # all of it is heard again then


def test_a_word_that_loops_in_itself_is_worth_nothing() -> None:
    span = Span(1000, 4000)
    assert worth(span, [_word("B-A-P-F-F-F-F-F", 1000, 4000)]) == 0
    assert worth(span, [_word("B-A-P-F-F-F", 1000, 4000)]) > 0
    assert worth(span, [_word("one-one-one", 1000, 4000)]) > 0
