"""Lines that differ by a sound are each read once, unless the sound says otherwise."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import pytest

from lessoncut.hearing.records import AlignedWord, Alignment, AlignmentRequest
from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Attempt
from lessoncut.matching.ground import Ground
from lessoncut.matching.records import ReadWord
from lessoncut.matching.twins import with_near_twins
from lessoncut.times import Span
from tests.matching.scripts import script

REGISTER = "Finch, J.?\nHere, miss.\nFinch, K.?\nHe's ill.\nThe bell rings."
HEARD = """
    0.0  finch jave       1.0
    2.0  here miss        3.0
    4.0  finch jave       5.0
    6.0  he's ill         7.0
    8.0  the bell rings  10.0
"""


def ground_and_asked(score: float) -> tuple[Ground, list[AlignmentRequest]]:
    """An aligner for which every line has this score in any place."""
    asked: list[AlignmentRequest] = []

    def answer(request: AlignmentRequest) -> Alignment:
        start_ms, step_ms = request.window.start_ms, request.window.length_ms // len(request.words)
        edges_ms = [start_ms + at * step_ms for at in range(len(request.words) + 1)]
        spans = [Span(*between) for between in pairwise(edges_ms)]
        return Alignment(request, tuple(map(AlignedWord, request.words, spans, [score] * len(spans))))

    def ask(requests: Sequence[AlignmentRequest]) -> tuple[Alignment, ...]:
        asked.extend(requests)
        return tuple(map(answer, requests))

    return Ground(script(REGISTER), told(HEARD), ask), asked


def read(ground: Ground, lines: Sequence[int], full: Sequence[bool] | None = None) -> list[Attempt]:
    """Readings of the lines, two seconds apart."""
    found = []
    for at, line in enumerate(lines):
        texts = ground.spoken_words[line]
        spans = [Span(at * 2000 + 300 * word, at * 2000 + 300 * word + 300) for word in range(len(texts))]
        words = tuple(ReadWord(text, span, None) for text, span in zip(texts, spans, strict=True))
        heard = tuple(word for word in ground.hearing.words if word.span.overlap_ms(Span(at * 2000, at * 2000 + 1900)))
        whole = full is None or full[at]
        found.append(Attempt(line, whole, len(words), words, heard, 0.3, laid=True, score=-15.0))
    return found


def test_of_two_lines_a_sound_apart_each_is_read_once() -> None:
    ground, asked = ground_and_asked(-16.0)
    attempts = read(ground, [0, 1, 0, 3, 4])
    found = with_near_twins(ground, attempts)
    assert [attempt.line for attempt in found] == [0, 1, 2, 3, 4]
    assert found[2].texts == ("finch", "k") and found[2].heard == attempts[2].heard
    assert [found[at] for at in (0, 1, 3, 4)] == [attempts[at] for at in (0, 1, 3, 4)]
    assert [request.words for request in asked] == [("finch", "k")]


@pytest.mark.parametrize(
    ("lines", "score"),
    [
        ([0, 1, 0, 3, 4], -40.0),  # the sound is clearly the first line's
        ([0, 0, 1, 2, 3, 4], -10.0),  # the other one is there, too
        ([0, 1, 2, 3, 4], -10.0),
        ([3, 4], -10.0),
    ],
)
def test_what_fits_better_or_stands_in_order_stays(lines: list[int], score: float) -> None:
    ground, _ = ground_and_asked(score)
    attempts = read(ground, lines)
    assert with_near_twins(ground, attempts) == attempts


def test_a_start_is_left_to_the_line_that_follows_it() -> None:
    ground, asked = ground_and_asked(-10.0)
    attempts = read(ground, [0, 1, 0, 3, 4], [True, True, False, True, True])
    assert with_near_twins(ground, attempts) == attempts
    assert not asked
