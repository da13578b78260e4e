"""Half a line said once more is no reading of it."""

from __future__ import annotations

import pytest

from lessoncut.hearing.records import AlignmentRequest
from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Attempt
from lessoncut.matching.ends import with_ends_apart
from lessoncut.matching.ground import Ground
from lessoncut.matching.records import ReadWord
from lessoncut.times import Span
from tests.matching.scripts import FERRY, script
from tests.matching.sounding import scoring

TWICE = """
    1.0  a woman waves from the window  3.0
    6.0  waves from the window          7.4
"""
WINDOW = ("a", "woman", "waves", "from", "the", "window")


def ground(first_words: float) -> Ground:
    """The first two words of the line lie so well on the second sound, and all the others well anywhere."""

    def score_of(request: AlignmentRequest, word: str) -> float:
        return first_words if word in ("a", "woman") and request.window.start_ms > 5000 else -15.0

    return Ground(script(FERRY), told(TWICE), scoring(score_of))


def reading(here: Ground, span: Span, doubt: float) -> Attempt:
    words = tuple(ReadWord(text, span, None) for text in WINDOW)
    heard = tuple(word for word in here.hearing.words if word.span.overlap_ms(span))
    return Attempt(2, True, 6, words, heard, doubt, laid=True, score=-30.0)


@pytest.mark.parametrize(
    ("first_words", "doubt", "apart"), [(-80.0, 2.0, True), (-80.0, 0.8, False), (-20.0, 2.0, False)]
)
def test_the_end_of_a_line_said_again_by_itself_is_talk(first_words: float, doubt: float, apart: bool) -> None:
    here = ground(first_words)
    whole, end = reading(here, Span(1000, 3000), 0.2), reading(here, Span(6000, 7400), doubt)
    found, left = with_ends_apart(here, [whole, end], [])
    assert found == ([whole] if apart else [whole, end])
    assert [[word.text for word in talk.words] for talk in left] == ([list(WINDOW[2:])] if apart else [])


def test_what_is_nowhere_read_better_stays_the_line() -> None:
    """It is all that there is of it."""
    here = ground(-80.0)
    end = reading(here, Span(6000, 7400), 2.0)
    assert with_ends_apart(here, [end], []) == ([end], [])
