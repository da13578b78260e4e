"""The witnesses for and against a hypothesis."""

from __future__ import annotations

import pytest

from lessoncut.hearing.align import no_aligner
from lessoncut.hearing.records import AlignedWord, Alignment
from lessoncut.hearing.told import told
from lessoncut.matching.attempts import TALK_COST, Attempt, without_overlap
from lessoncut.matching.doubt import clearly_others, doubt
from lessoncut.matching.ground import Ground, said
from lessoncut.matching.lay import Candidate
from lessoncut.matching.records import ReadWord
from lessoncut.times import Span
from tests.matching.scripts import FERRY, script

WHOLE = Span(2_000, 2_600)


def doubt_of_a_start(heard: str) -> float:
    """That "vera waits" was said where ``heard`` was heard; the second word is laid badly."""
    hearing = told(f"2.0  {heard}  2.6")
    ground = Ground(script(FERRY), hearing, no_aligner)
    candidate = Candidate(1, 2, WHOLE)
    laid = (AlignedWord("vera", Span(2_000, 2_300), -14.0), AlignedWord("waits", Span(2_300, 2_600), -80.0))
    alignment = Alignment(ground.request(1, ("vera", "waits"), WHOLE), laid)
    return doubt(ground, candidate, alignment, WHOLE, hearing.words, (1,))


def test_a_start_is_not_judged_by_a_word_it_breaks_off_in() -> None:
    assert doubt_of_a_start("vera ~where") < TALK_COST < doubt_of_a_start("vera where")


def test_words_heard_well_need_no_good_path() -> None:
    assert doubt_of_a_start("vera waits") < doubt_of_a_start("vera where") - 0.5


def doubt_of_a_line(heard: str, heard_score: float | None = None) -> float:
    """That "the river is wide and very cold" was said where ``heard`` was; every word is laid well.

    ``heard_score``: what the heard words fit the same sound with.
    """
    whole = Span(2_000, 4_400)
    hearing = told(f"2.0  {heard}  4.4")
    ground = Ground(script(FERRY), hearing, no_aligner)
    words = ground.spoken_words[4]
    laid = tuple(AlignedWord(word, Span(2_000 + 340 * at, 2_340 + 340 * at), -14.0) for at, word in enumerate(words))
    alignment = Alignment(ground.request(4, words, whole), laid)
    row = AlignedWord("heard", whole, heard_score or 0.0)
    as_heard = heard_score and Alignment(ground.request_heard(said(hearing.words), whole), (row,) * len(hearing.words))
    return doubt(ground, Candidate(4, len(words), whole), alignment, whole, hearing.words, (4,), as_heard or None)


MISHEARD = "a liver his height at a ~fairy"


def test_a_line_that_fits_the_sound_far_better_than_what_was_heard_was_misheard() -> None:
    assert doubt_of_a_line(MISHEARD, -26.0) < doubt_of_a_line(MISHEARD) - 0.5
    assert doubt_of_a_line(MISHEARD, -16.0) == doubt_of_a_line(MISHEARD)


def test_words_heard_surely_are_not_misheard() -> None:
    assert doubt_of_a_line(MISHEARD.replace("~", ""), -26.0) == doubt_of_a_line(MISHEARD.replace("~", ""))


def test_one_unsure_word_among_many_sure_ones_makes_no_mishearing() -> None:
    talk = "there goes the school across the road they let ~out"
    assert doubt_of_a_line(talk, -26.0) == doubt_of_a_line(talk)


def test_many_words_heard_surely_say_what_was_said_though_they_fit_the_sound_poorly() -> None:
    hearing = told("2.0  vera waits beside the water  4.0")
    unsure = told("2.0  vera waits ~beside the water  4.0")
    ground = Ground(script(FERRY), hearing, no_aligner)
    words, whole = ground.spoken_words[1], Span(2_000, 4_000)
    laid = tuple(AlignedWord(word, Span(2_000 + 400 * at, 2_400 + 400 * at), -45.0) for at, word in enumerate(words))
    alignment = Alignment(ground.request(1, words, whole), laid)
    sure, other = (
        doubt(ground, Candidate(1, len(words), whole), alignment, whole, each.words, (1,)) for each in (hearing, unsure)
    )
    assert sure < TALK_COST / 2 < other


@pytest.mark.parametrize(
    ("heard", "others"),
    [
        ("there goes the school across the road they let us out", True),
        ("we are in israelic myelis", False),  # a recogniser may be sure of so little, and wrong
        ("~there ~goes ~the school across the road they let us out", False),
        ("vera waits beside the water and there goes the school", False),
    ],
)
def test_many_words_heard_surely_that_are_unlike_a_line_are_not_that_line(heard: str, others: bool) -> None:
    words = ("vera", "waits", "beside", "the", "water")
    assert clearly_others(words, told(f"2.0  {heard}  5.0").words) is others


def test_few_words_somewhat_like_the_line_may_be_misheard_though_surely_heard() -> None:
    """ "What said he said" for "What's done is done": twins are told by their sound."""
    few, unlike = "river is white and fairy", "go to the bank"
    assert doubt_of_a_line(few, -26.0) < doubt_of_a_line(few) - 0.5
    assert doubt_of_a_line(unlike, -26.0) == doubt_of_a_line(unlike)


def test_a_line_may_lack_its_last_words_where_the_rest_was_heard_from_the_first_on() -> None:
    """A recogniser that swallows words stops early: the two are as alike to the line, but one of them begins it."""
    assert doubt_of_a_line("the river is wide") < 0.8 * doubt_of_a_line("river is wide and")


@pytest.mark.parametrize(("heard", "is_line"), [("the river is white and very cold", True), ("very cold", False)])
def test_a_word_said_otherwise_does_not_cost_a_line_that_was_heard_but_for_it(heard: str, is_line: bool) -> None:
    whole = Span(2_000, 4_400)
    hearing = told(f"2.0  {heard}  4.4")
    ground = Ground(script(FERRY), hearing, no_aligner)
    words = ground.spoken_words[4]
    laid = tuple(
        AlignedWord(word, Span(2_000 + 340 * at, 2_340 + 340 * at), -112.0 if word == "wide" else -14.0)
        for at, word in enumerate(words)
    )
    alignment = Alignment(ground.request(4, words, whole), laid)
    cost = doubt(ground, Candidate(4, len(words), whole), alignment, whole, hearing.words, (4,))
    assert (cost <= TALK_COST) == is_line


def attempt(line: int, doubt: float, span: Span) -> Attempt:
    return Attempt(line, True, 1, (ReadWord("word", span, None),), (), doubt, laid=True)


def test_of_two_attempts_at_one_sound_the_less_doubted_stands() -> None:
    first, second = attempt(0, 2.0, Span(0, 2_000)), attempt(1, 1.0, Span(100, 2_000))
    assert without_overlap([first, second]) == (second,)


def test_a_short_attempt_does_not_stand_against_one_that_accounts_for_all_the_sound() -> None:
    long, short = attempt(0, 3.0, Span(0, 2_000)), attempt(1, 1.2, Span(0, 600))
    assert without_overlap([long, short]) == (long,)
    sure = attempt(1, 0.2, Span(0, 600))
    assert without_overlap([attempt(0, 3.0, Span(0, 2_000)), sure]) == (sure,)


@pytest.mark.parametrize(("line", "end_ms", "stands"), [(0, 1_600, False), (0, 1_700, True), (1, 1_600, True)])
def test_a_less_doubted_laying_of_a_line_does_not_leave_out_its_last_word(line: int, end_ms: int, stands: bool) -> None:
    whole, part = attempt(0, 1.4, Span(0, 2_000)), attempt(line, 0.4, Span(0, end_ms))
    assert without_overlap([whole, part]) == ((part,) if stands else (whole,))
