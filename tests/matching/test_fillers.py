"""An "um" is no broken-off "the"."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lessoncut.hearing.records import HeardWord
from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Attempt, Unscripted
from lessoncut.matching.fillers import UNREAD, fills_a_pause, without_fillers, words_read
from lessoncut.matching.ground import Ground
from lessoncut.matching.records import ReadWord
from lessoncut.times import Span
from tests.matching.scripts import FERRY, script
from tests.matching.sounding import scoring

HERE = Span(2000, 2300)


def start(text: str, *heard: str, full: bool = False) -> Attempt:
    words = (ReadWord(text, HERE, None),)
    return Attempt(0, full, 1, words, tuple(HeardWord(word, HERE, 0.3) for word in heard), 1.5, laid=True, score=-12.0)


def ground_where(scores: dict[str, float], heard: str = "-", probability: float = 0.9) -> Ground:
    """Where a row of words has the score of its first word, else -40."""

    hearing = told("2.0  hm  2.3\n3.0  the ferry leaves at seven  5.0")
    words = [] if heard == "-" else [HeardWord(heard, HERE, probability)]
    hearing = replace(hearing, words=(*words, *hearing.words[1:]))
    return Ground(script(FERRY), hearing, scoring(lambda request, _: scores.get(request.words[0], -40.0)))


@pytest.mark.parametrize(
    ("attempt", "scores", "stays"),
    [
        (start("the"), {"the": -12.0, "um": -8.0}, False),
        (start("the"), {"the": -9.0, "um": -8.0}, True),
        (start("the", "No."), {"the": -12.0, "no": -7.0}, False),  # what was heard lies better, too
        (start("the", "The,"), {"the": -12.0, "um": -8.0}, True),  # it was heard
        (start("vera"), {"vera": -12.0, "um": -8.0}, True),  # more than an article
        (start("the", full=True), {"the": -12.0, "um": -8.0}, True),
    ],
)
def test_a_lone_article_that_lies_worse_than_a_filler_is_talk(
    attempt: Attempt, scores: dict[str, float], stays: bool
) -> None:
    heard = attempt.heard[0].text if attempt.heard else "-"
    attempts, talk = without_fillers(ground_where(scores, heard), [attempt], [])
    assert (attempts == [attempt]) == stays
    assert [each.span for each in talk] == ([] if stays else [HERE])


def test_an_article_that_was_heard_in_the_sound_is_none() -> None:
    """Though the start was found without it."""
    scores = {"the": -12.0, "um": -8.0}
    assert without_fillers(ground_where(scores, "The", 0.3), [start("the")], []) == ([start("the")], [])


@pytest.mark.parametrize(
    ("attempt", "heard", "probability", "no_lies", "stays"),
    [
        (start("vera"), "No.", 0.7, -7.0, False),
        (start("vera"), "No.", 0.4, -7.0, True),  # hardly heard
        (start("vera"), "No.", 0.7, -11.0, True),  # lies no better
        (start("vera"), "Veral", 0.7, -7.0, True),  # much like the start
        (start("vera", "Vera"), "No.", 0.7, -7.0, True),  # it was heard
        (start("vera"), "...", 0.7, -7.0, True),  # nothing that can be said
    ],
)
def test_a_start_is_talk_where_another_word_was_heard_and_lies_better(
    attempt: Attempt, heard: str, probability: float, no_lies: float, stays: bool
) -> None:
    scores = {"vera": -12.0, "no": no_lies, "veral": no_lies}
    attempts, talk = without_fillers(ground_where(scores, heard, probability), [attempt], [])
    assert (attempts == [attempt]) == stays
    assert [[word.text for word in each.words] for each in talk] == ([] if stays else [[heard]])


def test_a_filler_inside_a_reading_is_none_that_the_script_has() -> None:
    assert fills_a_pause(start("the", "the", "um,", full=True))
    assert not fills_a_pause(start("um", "um,", full=True))
    assert not fills_a_pause(start("the", "the", full=True))


@pytest.mark.parametrize(
    ("text", "probability", "read"),
    [
        ("Uh...", 0.3, ()),  # a chair
        ("Uh...", 0.5, ("Uh...",)),
        ("Oh", 0.3, ("Oh",)),  # who knows
        ("Uh... well", 0.3, ("Uh...", "well")),
        ("Uh, uh.", 0.3, ()),  # a laugh
        ("I", UNREAD - 0.02, ()),
        ("I", UNREAD, ("I",)),
        ("I do", UNREAD - 0.02, ("I", "do")),
    ],
)
def test_a_filler_alone_that_is_all_but_unread_is_no_word(text: str, probability: float, read: tuple[str, ...]) -> None:
    words = tuple(HeardWord(word, HERE, probability) for word in text.split())
    assert words_read(Unscripted(HERE, words)) == read


def test_one_unread_filler_in_a_row_makes_all_of_it_a_sound() -> None:
    laugh = (HeardWord("Uh,", HERE, 0.1), HeardWord("uh.", HERE, 0.9))
    assert words_read(Unscripted(HERE, laugh)) == ()
