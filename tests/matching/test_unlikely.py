"""What sounds like a line's first words, and was heard as others that are far likelier, is talk."""

from __future__ import annotations

from dataclasses import replace

import pytest

from lessoncut.hearing.align import no_aligner
from lessoncut.hearing.records import HeardWord
from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Attempt, Unscripted
from lessoncut.matching.ground import Ground
from lessoncut.matching.records import ReadWord
from lessoncut.matching.unlikely import (
    LEAST_DOUBT,
    LESS_LIKELY,
    LESS_LIKELY_LIKE,
    LESS_LIKELY_WHOLE,
    SURE,
    with_talk_for_starts,
)
from lessoncut.times import Span
from tests.matching.scripts import script
from tests.matching.sounding import weighing

BAKERY = "The oven was cold.\nRita was kneading the rolls."
HERE = Span(3000, 3500)
HEARD_LOG = -2.0


def start(*texts: str, heard: str = "") -> Attempt:
    each_ms = HERE.length_ms // len(texts)
    words = tuple(
        ReadWord(text, Span(HERE.start_ms + each_ms * at, HERE.start_ms + each_ms * (at + 1)), None)
        for at, text in enumerate(texts)
    )
    found = tuple(HeardWord(word, HERE, 0.6) for word in heard.split())
    return Attempt(1, False, len(texts), words, found, 1.5, laid=True, score=-30.0)


def left_of(begun: Attempt, heard: str, logs: dict[str, float]) -> tuple[list[Attempt], list[Unscripted]]:
    hearing = told(f"0.0  the oven was cold  2.0\n3.0  {heard}  3.5\n4.0  rita was kneading the rolls  6.0")
    return with_talk_for_starts(Ground(script(BAKERY), hearing, no_aligner, 220.0, weigh=weighing(logs)), [begun], [])


@pytest.mark.parametrize(("less", "stays"), [(LESS_LIKELY - 0.5, True), (LESS_LIKELY + 0.5, False)])
@pytest.mark.parametrize("known", [False, True])
def test_a_start_far_less_likely_than_what_was_heard_there_is_talk(less: float, stays: bool, known: bool) -> None:
    """Whether the words came with the start, or stand in its sound."""
    begun = start("rita", heard="right" if known else "")
    attempts, left = left_of(begun, "right", {"right": HEARD_LOG, "Rita": HEARD_LOG - less})
    assert attempts == ([begun] if stays else [])
    assert [(talk.span, [word.text for word in talk.words]) for talk in left] == ([] if stays else [(HERE, ["right"])])


@pytest.mark.parametrize(
    ("less", "doubt", "heard", "stays"),
    [
        (LESS_LIKELY_WHOLE + 0.5, LEAST_DOUBT, "oh", False),
        (LESS_LIKELY_WHOLE - 0.5, LEAST_DOUBT, "oh", True),
        (LESS_LIKELY_WHOLE + 0.5, LEAST_DOUBT - 0.1, "oh", True),
        (LESS_LIKELY_WHOLE + 0.5, LEAST_DOUBT, "the rolls", True),  # that is in the line
    ],
)
def test_a_doubtful_line_far_less_likely_than_what_was_heard_there_is_talk(
    less: float, doubt: float, heard: str, stays: bool
) -> None:
    """A laugh was taken for a line from elsewhere."""
    line = replace(start("rita", "was", "kneading", "the", "rolls", heard=heard), full=True, doubt=doubt)
    logs = {heard: HEARD_LOG, "Rita was kneading the rolls.": HEARD_LOG - less}
    attempts, left = left_of(line, heard, logs)
    assert (attempts, len(left)) == (([line], 0) if stays else ([], 1))


@pytest.mark.parametrize(
    ("less", "probability", "stays"),
    [
        (LESS_LIKELY_LIKE + 0.5, SURE, False),
        (LESS_LIKELY_LIKE - 0.5, SURE, True),
        (LESS_LIKELY_LIKE + 0.5, SURE - 0.1, True),
    ],
)
def test_what_is_like_the_starts_words_must_be_surely_heard_and_likelier_by_more(
    less: float, probability: float, stays: bool
) -> None:
    begun = start("rita", heard="rite")
    begun = replace(begun, heard=tuple(replace(word, probability=probability) for word in begun.heard))
    attempts, left = left_of(begun, "rite", {"rite": HEARD_LOG, "Rita": HEARD_LOG - less})
    assert (attempts, len(left)) == (([begun], 0) if stays else ([], 1))


def test_another_beginning_of_its_line_may_be_what_was_said() -> None:
    begun = start("rita", heard="why does")
    logs = {"why does": HEARD_LOG, "Rita": -30.0, "Rita was": HEARD_LOG - 3.0}
    assert left_of(begun, "why does", logs) == ([begun], [])


@pytest.mark.parametrize(
    "begun",
    [
        start("rita", heard="rite"),  # that was heard, more or less
        replace(start("rita", heard="right"), full=True),
        replace(start("rita"), words=(ReadWord("rita", Span(8000, 8400), None),)),  # nothing was heard there
    ],
)
def test_what_was_heard_as_it_is_or_not_at_all_stays(begun: Attempt) -> None:
    logs = {"rite": HEARD_LOG, "right": HEARD_LOG, "Rita": -40.0}
    assert left_of(begun, "right", logs) == ([begun], [])
