"""Lines that differ by a sound are each read once, unless the sound says otherwise."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import pytest

from lessoncut.hearing.align import no_aligner
from lessoncut.hearing.records import AlignedWord, Alignment, AlignmentRequest
from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Attempt
from lessoncut.matching.ground import Ground
from lessoncut.matching.records import ReadWord
from lessoncut.matching.twins import near_twins, with_twins
from lessoncut.times import Span
from tests.matching.scripts import script
from tests.matching.sounding import scoring

REGISTER = "Finch, J.?\nHere, miss.\nFinch, K.?\nHe's ill.\nThe bell rings."
HEARD = """
    0.0  finch jave       1.0
    2.0  here miss        3.0
    4.0  finch jave       5.0
    6.0  he's ill         7.0
    8.0  the bell rings  10.0
"""


def ground_and_asked(twin: float, own: float = -15.0) -> tuple[Ground, list[AlignmentRequest]]:
    """What is asked, and an aligner for which "finch k" has that score in any place and other lines have the second."""
    asked: list[AlignmentRequest] = []

    def answer(request: AlignmentRequest) -> Alignment:
        start_ms, step_ms = request.window.start_ms, request.window.length_ms // len(request.words)
        edges_ms = [start_ms + at * step_ms for at in range(len(request.words) + 1)]
        spans = [Span(*between) for between in pairwise(edges_ms)]
        score = twin if request.words == ("finch", "k") else own
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
        heard = tuple(
            word for word in ground.hearing.words if word.span.overlap_ms(Span(line * 2000, line * 2000 + 1900))
        )
        whole = full is None or full[at]
        found.append(Attempt(line, whole, len(words), words, heard, 0.3, laid=True, score=-15.0))
    return found


@pytest.mark.parametrize(
    ("text", "near"),
    [("Really?\nRarely.", True), ("Really?\nRuthless.", False), ("Really now?\nRarely now.", False)],
)
def test_of_lines_of_one_word_half_its_sounds_may_be_others(text: str, near: bool) -> None:
    assert bool(near_twins(tuple(line.spoken for line in script(text).lines))) == near


def test_of_two_lines_a_sound_apart_each_is_read_once() -> None:
    ground, asked = ground_and_asked(-16.0)
    attempts = read(ground, [0, 1, 0, 3, 4])
    found = with_twins(ground, attempts)
    assert [attempt.line for attempt in found] == [0, 1, 2, 3, 4]
    assert found[2].texts == ("finch", "k") and found[2].heard == attempts[2].heard
    assert [found[at] for at in (0, 1, 3, 4)] == [attempts[at] for at in (0, 1, 3, 4)]
    assert {request.words for request in asked} == {("finch", "j"), ("finch", "k")}


def test_where_the_sound_is_clearly_the_twins_it_was_read_whatever_the_order() -> None:
    ground, _ = ground_and_asked(-12.0, own=-30.0)
    found = with_twins(ground, read(ground, [3, 0, 4]))
    assert [attempt.line for attempt in found] == [3, 2, 4]


@pytest.mark.parametrize(
    ("lines", "twin"),
    [
        ([0, 1, 0, 3, 4], -40.0),  # the sound is clearly the first line's
        ([0, 0, 1, 2, 3, 4], -15.0),  # the other one is there, too
        ([0, 1, 2, 3, 4], -15.0),
        ([3, 4], -15.0),
    ],
)
def test_what_fits_better_or_stands_in_order_stays(lines: list[int], twin: float) -> None:
    ground, _ = ground_and_asked(twin)
    attempts = read(ground, lines)
    assert [attempt.line for attempt in with_twins(ground, attempts)] == lines


def test_a_start_is_left_to_the_line_that_follows_it() -> None:
    ground, asked = ground_and_asked(-15.0)
    attempts = read(ground, [3, 0, 3, 4], [True, False, True, True])
    assert with_twins(ground, attempts) == attempts
    assert not asked


def test_lines_of_the_very_same_words_are_told_by_their_order_alone() -> None:
    refrain = Ground(script("Row on.\nThe wind is warm.\nRow on.\nThe water is blue."), told(HEARD), no_aligner)
    attempts = read(refrain, [0, 1, 0, 3])
    assert [attempt.line for attempt in with_twins(refrain, attempts)] == [0, 1, 2, 3]


def test_starts_take_no_place_among_lines_of_the_very_same_words() -> None:
    refrain = Ground(script("Ready at bow.\nReady at two.\nReady at two.\nRow."), told(HEARD), no_aligner)
    attempts = read(refrain, [0, 1, 2, 2, 2, 3], [True, False, False, True, True, True])
    assert [attempt.line for attempt in with_twins(refrain, attempts) if attempt.full] == [0, 1, 2, 3]


@pytest.mark.parametrize(
    ("heard", "lines"), [("taste it whenever you", [0, 2, 3]), ("stir it whenever you", [0, 1, 3])]
)
def test_a_line_of_which_the_words_heard_are_anothers_is_that_one(heard: str, lines: list[int]) -> None:
    """Where the sound agrees, though the order asks for the line that was left out."""
    said = f"0.0  in go the beans  1.9\n2.0  {heard}  3.9\n4.0  serve it hot  5.9"
    kitchen = "In go the beans.\nStir it whenever you walk by.\nTaste it whenever you stir it.\nServe it hot."

    def score_of(request: AlignmentRequest, word: str) -> float:
        poor = request.words[0] != heard.split(maxsplit=1)[0] and word in ("stir", "taste")
        return -60.0 if poor else -15.0

    ground = Ground(script(kitchen), told(said), scoring(score_of))
    attempts = read(ground, [0, 1, 3])
    slots = [tuple(w for w in ground.hearing.words if w.span.start_ms // 2000 == at) for at in range(3)]
    attempts = [replace(each, heard=words) for each, words in zip(attempts, slots, strict=True)]
    assert [attempt.line for attempt in with_twins(ground, attempts)] == lines
