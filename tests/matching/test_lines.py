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
from lessoncut.matching.lines import up_to_the_next
from lessoncut.matching.records import ReadWord
from lessoncut.matching.starts import with_starts
from lessoncut.times import Span
from tests.matching.scripts import FERRY, script

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
