"""Where attempts meet without a pause, each keeps its own sound: they are laid as one row, and parted where it is
quiet."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from lessoncut.hearing.records import AlignedWord, Alignment, AlignmentRequest, HeardWord
from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Attempt
from lessoncut.matching.ground import RUNS_ON_MS, Ground
from lessoncut.matching.joints import parted_at_joints, parted_at_pauses, parted_where_quiet
from lessoncut.matching.records import Change, ReadWord
from lessoncut.take.levels import HOP_MS, Levels
from lessoncut.times import Span
from tests.matching.scripts import FERRY, script

SPEECH = Span(1000, 5000)
FERRY_LINE, VERA_LINE = ("the", "ferry", "leaves", "at", "seven"), ("vera", "waits", "beside", "the", "water")
THREE = """
    Wait here.
    Not there.
    Over here.
"""


def attempt(line: int, words: Sequence[str], span: Span, *, upto: int | None = None) -> Attempt:
    """An attempt whose words share its span evenly."""
    marks = np.linspace(span.start_ms, span.end_ms, len(words) + 1).astype(int)
    spans = [Span(int(a), int(b)) for a, b in pairwise(marks)]
    read = tuple(ReadWord(text, at, text) for text, at in zip(words, spans, strict=True))
    return Attempt(line, upto is None, upto or len(words), read, (), 0.0, laid=True, score=-15.0)


def laying(
    answers: Mapping[tuple[str, ...], tuple[Sequence[int], float]], text: str = FERRY, speech: Span = SPEECH
) -> tuple[list[AlignmentRequest], Ground]:
    """What was asked, and a ground whose aligner knows these rows of words: their marks, ms, and their score."""
    asked: list[AlignmentRequest] = []

    def answer(request: AlignmentRequest) -> Alignment:
        marks, score = answers.get(request.words, ((), 0.0))
        spans = [Span(*between) for between in pairwise(marks)]
        return Alignment(request, tuple(AlignedWord(w, s, score) for w, s in zip(request.words, spans, strict=False)))

    def ask(requests: Sequence[AlignmentRequest]) -> tuple[Alignment, ...]:
        asked.extend(requests)
        return tuple(map(answer, requests))

    hearing = replace(told("1.0  the ferry leaves at seven  5.0"), speech=(speech,), duration_ms=9000)
    return asked, Ground(script(text), hearing, ask)


def test_two_lines_over_the_same_sound_are_laid_as_one_row_and_share_none() -> None:
    row = (*FERRY_LINE, *VERA_LINE)
    marks = (1000, 1200, 1700, 2200, 2400, 3000, 3400, 3800, 4200, 4400, 5000)
    asked, ground = laying({row: (marks, -15.0)})
    two = [attempt(0, FERRY_LINE, Span(1000, 3600)), attempt(1, VERA_LINE, Span(2500, 5000))]
    first, second = parted_at_joints(ground, two)
    assert [request.words for request in asked] == [row]
    assert asked[0].window.hull(SPEECH) == asked[0].window
    assert (first.span, second.span) == (Span(1000, 3000), Span(3000, 5000))
    assert first.words[1].span == Span(1200, 1700)
    assert [(word.text, word.heard) for word in second.words] == [(word, word) for word in VERA_LINE]


@pytest.mark.parametrize("upto_ms", [2200, 2900])
def test_lines_with_a_pause_between_them_are_left_as_they_are(upto_ms: int) -> None:
    asked, ground = laying({})
    two = [attempt(0, FERRY_LINE, Span(1000, upto_ms)), attempt(1, VERA_LINE, Span(3010, 5000))]
    parted = replace(ground, hearing=replace(ground.hearing, speech=(Span(1000, 2960), Span(3000, 5000))))
    assert parted_at_joints(parted, two) == two
    assert not asked


def test_what_cannot_be_laid_stays() -> None:
    asked, ground = laying({})
    two = [attempt(0, FERRY_LINE, Span(1000, 3600)), attempt(1, VERA_LINE, Span(2500, 5000))]
    assert parted_at_joints(ground, two) == two
    assert len(asked) == 1


@pytest.mark.parametrize(("begun_fits", "end_ms"), [(-12.0, 2000), (-30.0, 1700)])
def test_a_start_broken_off_in_a_word_reaches_to_where_the_line_begins(begun_fits: float, end_ms: int) -> None:
    """ "Vera waits bes- vera waits": the begun word is no word of the start, and its sound not the line's."""
    start = VERA_LINE[:2]
    plain = (1000, 1300, 1700, 2400, 2800, 3400, 3800, 5000)
    begun = (1000, 1300, 1700, 2000, 2400, 2800, 3400, 3800, 5000)
    answers = {(*start, *VERA_LINE): (plain, -20.0), (*start, "beside", *VERA_LINE): (begun, begun_fits)}
    asked, ground = laying(answers)
    two = [attempt(1, start, Span(1000, 1900), upto=2), attempt(1, VERA_LINE, Span(1600, 5000))]
    first, second = parted_at_joints(ground, two)
    assert len(asked) == 2
    assert (first.texts, first.upto, first.full) == (("vera", "waits"), 2, False)
    assert (first.span, second.span) == (Span(1000, end_ms), Span(end_ms, 5000))


def test_a_misread_line_is_laid_as_it_was_said() -> None:
    said = (*FERRY_LINE[:4], "half", "past", *VERA_LINE)
    marks = (1000, 1200, 1700, 2200, 2400, 2700, 3000, 3400, 3800, 4200, 4400, 5000)
    asked, ground = laying({said: (marks, -15.0)})
    change = Change(4, 4, ("seven",), ("half", "past"))
    misread = replace(attempt(0, FERRY_LINE, Span(1000, 3600)), changes=(change,))
    first, second = parted_at_joints(ground, [misread, attempt(1, VERA_LINE, Span(2500, 5000))])
    assert [request.words for request in asked] == [said]
    assert first.changes == (change,)
    assert [word.span for word in first.words][3:] == [Span(2200, 2400), Span(2400, 3000)]
    assert second.span == Span(3000, 5000)


def test_three_in_one_breath_are_one_row() -> None:
    words = [tuple(line.lower().strip(" .").split()) for line in THREE.strip().splitlines()]
    marks = (1000, 1600, 2000, 2600, 3100, 4000, 5000)
    asked, ground = laying({tuple(word for line in words for word in line): (marks, -15.0)}, THREE)
    spans = [Span(1000, 2300), Span(2200, 3700), Span(3300, 5000)]
    three = [attempt(at, line, span) for at, (line, span) in enumerate(zip(words, spans, strict=True))]
    assert [each.span for each in parted_at_joints(ground, three)] == [
        Span(1000, 2000),
        Span(2000, 3100),
        Span(3100, 5000),
    ]
    assert len(asked) == 1


def levels_with_dip(at_ms: int) -> Levels:
    voice = np.full(600, -20.0, np.float32)
    voice[at_ms // HOP_MS - 2 : at_ms // HOP_MS + 2] = -45.0
    return Levels(voice, voice - 10)


def test_laid_lines_that_meet_are_parted_where_it_is_quiet() -> None:
    two = [attempt(0, FERRY_LINE, Span(1000, 3100)), attempt(1, VERA_LINE, Span(2950, 5000))]
    first, second = parted_where_quiet(levels_with_dip(3040), two)
    assert first.end_ms == second.start_ms
    assert abs(first.end_ms - 3040) <= HOP_MS
    assert (first.start_ms, second.end_ms) == (1000, 5000)


def test_the_quiet_inside_a_word_parts_nothing() -> None:
    """A closure in the second half of "vera" is nearer than 80 ms, and no place to part at."""
    two = [attempt(0, FERRY_LINE, Span(1000, 3000)), attempt(1, VERA_LINE, Span(3000, 3500))]
    first, _ = parted_where_quiet(levels_with_dip(3090), two)
    assert first.end_ms <= 3050


def test_laid_lines_with_a_pause_between_keep_their_edges() -> None:
    two = [attempt(0, FERRY_LINE, Span(1000, 2900)), attempt(1, VERA_LINE, Span(3000, 5000))]
    assert parted_where_quiet(levels_with_dip(2950), two) == [Span(1000, 2900), Span(3000, 5000)]


@pytest.mark.parametrize(
    ("pause_ms", "first_heard_ms", "parted"),
    [
        (500, 3600, True),
        (RUNS_ON_MS - 50, 3600, False),  # a closure
        (500, 2900, False),  # she stopped behind the first word
    ],
)
def test_lines_that_meet_though_a_pause_parts_what_was_heard_are_laid_on_its_sides(
    pause_ms: int, first_heard_ms: int, parted: bool
) -> None:
    """The aligner laid "vera" on the end of "seven"."""
    edges = Span(1000, 3000), Span(3000 + pause_ms, 5000)
    marks: dict[tuple[str, ...], tuple[Sequence[int], float]] = {
        FERRY_LINE: ((1000, 1200, 1700, 2200, 2400, 3000), -15.0),
        VERA_LINE: ((3000 + pause_ms, 3700, 4000, 4200, 4400, 5000), -15.0),
    }
    _, ground = laying(marks)
    ground = replace(ground, hearing=replace(ground.hearing, speech=edges))
    first = replace(attempt(0, FERRY_LINE, Span(1000, 2700)), heard=(HeardWord("seven", Span(2300, 2700), 0.9),))
    heard = HeardWord("waits", Span(first_heard_ms, first_heard_ms + 200), 0.9)
    second = replace(attempt(1, VERA_LINE, Span(2700, 5000)), heard=(heard,))
    found = parted_at_pauses(ground, [first, second])
    assert [each.span for each in found] == (list(edges) if parted else [first.span, second.span])
    assert [each.heard for each in found] == [first.heard, second.heard]
