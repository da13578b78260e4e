"""The words of a reading as they are captioned, each with its time."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessoncut import wording
from lessoncut.decisions.records import Wording
from lessoncut.lesson.records import LessonWord
from lessoncut.lesson.shown import chunks_of, script_words, shared_out, shown_words
from lessoncut.matching.records import Change, Reading, ReadWord
from lessoncut.script.records import Line
from lessoncut.times import Span
from lessoncut.wording import Saying


def read(text: str, upto: int | None = None) -> Reading:
    """Every spoken word lasts 100 ms, the first from 0."""
    said = wording.spoken(text)[:upto]
    words = tuple(ReadWord(word, Span(at * 100, at * 100 + 100), word) for at, word in enumerate(said))
    span = Span(0, 100 * len(said))
    kind = "full" if upto is None else "partial"
    return Reading("R1", "L1", None, kind, True, span, span, words, (), 1.0)  # type: ignore[arg-type]


def line(text: str, *sayings: Saying) -> Line:
    return Line("L1", text, 0, True, sayings=sayings)


def written(words: tuple[LessonWord, ...]) -> list[tuple[str, int, int]]:
    return [(word.text, word.span.start_ms, word.span.end_ms) for word in words]


def test_a_written_word_lasts_as_long_as_what_is_said_for_it() -> None:
    text = "“Well,” he paid $3 – no, 21 euros…"
    assert written(script_words(line(text), read(text))) == [
        ("“Well,”", 0, 100),
        ("he", 100, 200),
        ("paid", 200, 300),
        ("$3 –", 300, 500),  # three dollars
        ("no,", 500, 600),
        ("21", 600, 800),  # twenty one
        ("euros…", 800, 900),
    ]


def test_punctuation_before_the_first_word_goes_with_it() -> None:
    assert [chunk.text for chunk in chunks_of(line("– Well done"))] == ["– Well", "done"]


def test_a_broken_off_start_shows_what_was_said() -> None:
    assert written(script_words(line("We want seven vests."), read("We want seven vests.", 2))) == [
        ("We", 0, 100),
        ("want", 100, 200),
    ]


def test_a_reading_with_another_count_of_words_shares_its_time_out() -> None:
    words = script_words(line("We want seven vests."), read("We want seven"[:7]))
    assert [word.text for word in words] == ["We", "want", "seven", "vests."]
    assert (words[0].span.start_ms, words[-1].span.end_ms) == (0, 200)


@pytest.mark.parametrize(
    ("change", "shown"),
    [
        (Change(2, 2, ("seven",), ("eleven",), 9.0), "We want eleven vests, please."),
        (Change(0, 0, ("we",), ("they",), 9.0), "They want seven vests, please."),
        (Change(3, 3, ("vests",), ("red", "vests"), 9.0), "We want seven red vests, please."),
        (Change(3, 4, ("vests", "please"), ("hats",), 9.0), "We want seven hats."),
        (Change(2, 2, ("seven",), (), 9.0), "We want vests, please."),
        (Change(4, 4, ("please",), (), 9.0), "We want seven vests,"),
        (Change(3, 4, ("vests", "please"), (), 9.0), "We want seven."),
    ],
)
def test_a_changed_word_is_shown_as_heard_with_the_scripts_punctuation(change: Change, shown: str) -> None:
    text = "We want seven vests, please."
    words = shown_words(line(text), read(text), Wording("R1", changes=(change,)))
    assert " ".join(word.text for word in words) == shown


def test_two_changes_in_one_line() -> None:
    text = "We want seven vests, please."
    changes = (Change(0, 0, ("we",), ("you", "all"), 9.0), Change(3, 3, ("vests",), ("hats",), 9.0))
    assert written(shown_words(line(text), read(text), Wording("R1", changes=changes))) == [
        ("You", 0, 50),
        ("all", 50, 100),
        ("want", 100, 200),
        ("seven", 200, 300),
        ("hats,", 300, 400),
        ("please.", 400, 500),
    ]


@pytest.mark.parametrize(
    ("own", "expected"),
    [
        ("We want seven vests, please.", [("We", 0, 100), ("want", 100, 200), ("seven", 200, 300)]),
        ("We wanted seven vests!", [("We", 0, 100), ("wanted", 100, 200), ("seven", 200, 300), ("vests!", 300, 400)]),
        ("Oh we want", [("Oh", 0, 50), ("we", 50, 100), ("want", 100, 200)]),
        ("We do want", [("We", 0, 50), ("do", 50, 100), ("want", 100, 200)]),
        ("", []),
    ],
)
def test_the_teachers_words_take_the_times_of_those_they_stand_for(own: str, expected: list[object]) -> None:
    text = "We want seven vests, please."
    words = shown_words(line(text), read(text), Wording("R1", text=own))
    assert written(words)[: len(expected)] == expected
    assert [word.text for word in words] == own.split()


@given(st.text(alphabet="ab3 $,.–'", max_size=40), st.text(alphabet="ab3 ,.", max_size=40))
def test_no_text_of_the_teachers_is_lost_and_time_runs_forward(text: str, own: str) -> None:
    reading = read(text)
    if not reading.words:
        return
    words = shown_words(line(text), reading, Wording("R1", text=own))
    assert [word.text for word in words] == own.split()
    starts = [word.span.start_ms for word in words]
    assert starts == sorted(starts)
    assert all(word.span.overlap_ms(reading.span) == word.span.length_ms for word in words)


@given(st.integers(0, 10**6), st.integers(0, 10**5), st.lists(st.text(min_size=1), min_size=1))
def test_time_is_shared_out_without_a_rest(start_ms: int, length_ms: int, texts: list[str]) -> None:
    words = shared_out(Span(start_ms, start_ms + length_ms), texts)
    edges = [start_ms, *(word.span.end_ms for word in words)]
    assert [word.span.start_ms for word in words] == edges[:-1]
    assert edges[-1] == start_ms + length_ms


def test_a_number_said_otherwise_keeps_its_characters() -> None:
    text = "Come at 6:45 or never."
    otherwise = Saying(8, ("quarter", "to", "seven"))
    reading = read("come at quarter to seven or never")
    assert written(script_words(line(text, otherwise), reading)) == [
        ("Come", 0, 100),
        ("at", 100, 200),
        ("6:45", 200, 500),
        ("or", 500, 600),
        ("never.", 600, 700),
    ]
