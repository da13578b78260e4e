"""Where one attempt at a line ends and the next begins."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from lessoncut.hearing.align import no_aligner
from lessoncut.hearing.records import AlignedWord, Alignment, AlignmentRequest
from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Attempt
from lessoncut.matching.ground import Ground
from lessoncut.matching.lines import lay_lines, up_to_the_next
from lessoncut.matching.pieces import pieces_of
from lessoncut.matching.records import ReadWord
from lessoncut.matching.starts import with_starts
from lessoncut.times import Span
from tests.matching.scripts import FERRY, script
from tests.matching.sounding import sounding

VERA = ("vera", "waits", "beside", "the", "water")


def attempt(spans: Sequence[tuple[int, int]], score: float = -15.0) -> Attempt:
    words = tuple(ReadWord(text, Span(*span), text) for text, span in zip(VERA, spans, strict=False))
    return Attempt(1, len(words) == len(VERA), len(words), words, (), 0.2, laid=True, score=score)


def test_last_words_that_the_next_reading_of_the_line_says_are_not_the_first_ones() -> None:
    """ "Vera waits beside" and then the line: the recogniser gave "the water" to the first, but out of the second."""
    first = attempt([(2000, 2300), (2300, 2600), (2600, 2900), (3400, 3500), (3500, 3700)], score=-26.0)
    second = attempt([(3400, 3700), (3700, 4000), (4000, 4300), (4300, 4400), (4400, 4800)])
    start, line = up_to_the_next([first, second])
    assert (start.full, start.texts, start.upto) == (False, VERA[:3], 3)
    assert line == second
    apart = attempt([(2000, 2300), (2300, 2600), (2600, 2900), (2900, 3000), (3000, 3300)], score=-26.0)
    assert up_to_the_next([apart, second]) == [apart, second]
    assert up_to_the_next([replace(first, line=2), second])[0].full
    assert up_to_the_next([]) == []


@pytest.mark.parametrize(("said_again", "full"), [(True, [False, True]), (False, [True])])
def test_a_first_word_before_a_pause_is_no_start_where_the_rest_lacks_it(said_again: bool, full: list[bool]) -> None:
    """After "Vera," the aligner squeezes another "vera" in before "waits", and its mean score tells nothing."""
    speech = (Span(2000, 2300), Span(2500, 4100))
    after = [(2500, 2540), (2540, 2900), (2900, 3400), (3400, 3500), (3500, 4100)]
    if said_again:
        after[:2] = [(2500, 2780), (2780, 2900)]

    def ask(requests: Sequence[AlignmentRequest]) -> tuple[Alignment, ...]:
        return tuple(answer(request) for request in requests)

    def answer(request: AlignmentRequest) -> Alignment:
        spans = [Span(*span) for span in after[-len(request.words) :]]
        scores = [-15.0] * len(spans)
        if len(spans) == len(VERA) and not said_again:
            scores[0] = -28.0
        if len(spans) < len(VERA) and not said_again:
            spans[0] = Span(2500, spans[0].end_ms)
        return Alignment(request, tuple(map(AlignedWord, request.words, spans, scores)))

    hearing = replace(told("2.0  vera waits beside the water  4.1"), speech=speech)
    ground = Ground(script(FERRY), hearing, ask, syllable_ms=200.0)
    whole = attempt([(2000, 2300), (2540, 2900), (2900, 3400), (3400, 3500), (3500, 4100)], score=-22.0)
    assert [part.full for part in with_starts(ground, [whole])] == full
    assert with_starts(replace(ground, align=no_aligner), [whole]) == [whole]


@pytest.mark.parametrize(
    ("other", "asked_about"),
    [
        ([(6000, 6200), (6200, 6500), (6500, 6900), (6900, 7000), (7000, 7500)], True),
        ([(6000, 6300), (6300, 6700), (6700, 7300), (7300, 7400), (7400, 8200)], False),
        ([], True),
    ],
    ids=["as the rest", "as the whole and longer", "none"],
)
def test_what_is_much_shorter_than_the_other_reading_is_not_a_start_and_the_line(
    other: list[tuple[int, int]], asked_about: bool
) -> None:
    asked: list[AlignmentRequest] = []

    def ask(requests: Sequence[AlignmentRequest]) -> tuple[Alignment, ...]:
        asked.extend(requests)
        return no_aligner(requests)

    speech = (Span(2000, 2300), Span(2500, 4100), Span(6000, 8200))
    hearing = replace(told("2.0  vera waits beside the water  8.2"), speech=speech)
    ground = Ground(script(FERRY), hearing, ask, syllable_ms=200.0)
    whole = attempt([(2000, 2300), (2540, 2900), (2900, 3400), (3400, 3500), (3500, 4100)])
    attempts = [whole, attempt(other)] if other else [whole]
    assert with_starts(ground, attempts) == attempts
    assert [request.window.start_ms >= 2300 for request in asked] == ([True] if asked_about else [])


def test_a_line_of_which_nothing_is_doubted_is_asked_about_once() -> None:
    """In all its speech, however many pauses; in parts only where something speaks against it."""
    asked: list[AlignmentRequest] = []

    def questions(text: str) -> list[int]:
        hearing = told(text)
        asked.clear()

        def ask(requests: Sequence[AlignmentRequest]) -> tuple[Alignment, ...]:
            asked.extend(requests)
            return sounding(text)(requests)

        ground = Ground(script(FERRY), hearing, ask, syllable_ms=200.0)
        lay_lines(ground, pieces_of(ground.script, hearing))
        return [sum(request.line_id == line for request in asked) for line in ("L001", "L002", "L003")]

    paused = """
        0.0  the ferry leaves               0.9
        1.3  at seven                       2.0
        4.0  vera waits                     4.7
        5.1  beside the water               6.3
        9.0  a woman waves from the window  11.0
    """
    assert questions(paused) == [1, 1, 1]
    assert questions(paused.replace("beside the water", "upon the water"))[1] > 1
