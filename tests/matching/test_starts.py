"""A start, a pause, and the whole line: told from a line with a pause in it by what accounts better for the rest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import pytest

from lessoncut.hearing.records import AlignedWord, Alignment, AlignmentRequest
from lessoncut.hearing.told import told
from lessoncut.matching.attempts import Attempt
from lessoncut.matching.ground import Ground
from lessoncut.matching.records import ReadWord
from lessoncut.matching.settle import settle
from lessoncut.matching.starts import LESS_LIKELY, NEARER_ANEW, with_beginnings_alike, with_starts
from lessoncut.times import Span
from tests.matching.scripts import FERRY, script
from tests.matching.sounding import Like, sounding, weighing

VERA = ("vera", "waits", "beside", "the", "water")
SAID = """
    2.0  vera                    2.5
    3.3  vera waits beside the water  5.0
"""


def spans(marks: Sequence[int]) -> list[Span]:
    return [Span(*between) for between in pairwise(marks)]


def answering(begun_ms: int, first_score: float) -> Ground:
    """A ground whose aligner lays the whole line from ``begun_ms`` on, its first word so well, and the line without
    its first word on nearly all of it."""
    whole, rest = (begun_ms, 3500, 3900, 4300, 4500, 5000), (3310, 3900, 4300, 4500, 5000)

    def answer(request: AlignmentRequest) -> Alignment:
        marks, first = (whole, first_score) if request.words == VERA else (rest, -19.0)
        if request.words not in (VERA, VERA[1:]):
            return Alignment(request, ())
        scores = [first, *[-15.0] * (len(request.words) - 1)]
        return Alignment(request, tuple(map(AlignedWord, request.words, spans(marks), scores)))

    return Ground(script(FERRY), told(SAID), lambda requests: tuple(map(answer, requests)), syllable_ms=200.0)


def vera() -> Attempt:
    """Both as one, as the recogniser gave it: its first word before the pause."""
    marks = (2000, 3400, 3900, 4300, 4500, 5000)
    words = tuple(ReadWord(text, span, None) for text, span in zip(VERA, spans(marks), strict=True))
    return Attempt(1, True, len(words), words, (), 0.3, laid=True, score=-16.0)


@pytest.mark.parametrize("begun_ms", [3300, 3150])
def test_a_line_begun_anew_behind_a_pause_is_a_start_and_the_line(begun_ms: int) -> None:
    """Also where the aligner lays its first word well before what is speech: no sound there speaks against it."""
    start, line = with_starts(answering(begun_ms, -22.0), [vera()])
    assert (start.full, start.texts, start.span) == (False, ("vera",), Span(2000, 2500))  # not laid on both any more
    assert (line.full, line.texts, line.span) == (True, VERA, Span(begun_ms, 5000))


@pytest.mark.parametrize(("log", "count"), [(-9.0 - LESS_LIKELY + 0.5, 2), (-9.0 - LESS_LIKELY - 0.5, 1)])
def test_a_line_is_begun_anew_where_that_is_hardly_less_likely_than_its_rest(log: float, count: int) -> None:
    logs = {"Vera waits beside the water.": log, "waits beside the water.": -9.0}
    ground = replace(answering(3300, -22.0), weigh=weighing(logs))
    assert len(with_starts(ground, [vera()])) == count


def test_a_first_word_that_is_not_there_makes_no_start() -> None:
    ground = answering(3300, -90.0)
    assert with_starts(ground, [vera()]) == [vera()]


def test_without_a_pause_nothing_is_asked() -> None:
    ground = answering(3300, -15.0)
    in_one = replace(ground, hearing=replace(ground.hearing, speech=(Span(2000, 5000),)))
    assert with_starts(in_one, [vera()]) == [vera()]


@pytest.mark.parametrize(
    ("said", "one"),
    [
        ("2.0  look  2.4\n2.7  luke the van is late  4.2", True),
        ("2.0  look  2.4\n2.7  look luke the van is late  4.2", False),
        ("2.0  look  2.4\n3.5  luke the van is late  5.0", False),  # no comma is so long
    ],
)
def test_a_line_that_goes_on_in_words_like_its_first_ones_is_one_reading(said: str, one: bool) -> None:
    ground = Ground(script("Look, Luke, the van is late."), told(said), sounding(said))
    heard = told(said).words
    first = Attempt(0, False, 1, (ReadWord("look", heard[0].span, None),), heard[:1], 1.1, laid=True, score=-20.0)
    rest = heard[1].span.hull(heard[-1].span)
    marks = [rest.start_ms + rest.length_ms * at // 6 for at in range(7)]
    words = tuple(ReadWord(*row, None) for row in zip(ground.spoken_words[0], spans(marks), strict=True))
    line = Attempt(0, True, 6, words, heard[1:], 0.7, laid=True, score=-24.0)
    found = with_beginnings_alike(ground, [first, line])
    assert [(each.full, each.span) for each in found] == (
        [(True, first.span.hull(line.span))] if one else [(False, first.span), (True, line.span)]
    )
    assert [word for each in found for word in each.heard] == list(heard)


def test_of_two_places_where_a_line_may_begin_anew_it_is_the_one_on_which_it_lies_better() -> None:
    """ "Four, actually, once. Four, actually, once more.": behind the comma of the second the line lies, too, but for
    its first word."""
    said = "2.0  four  2.4\n2.6  actually once  3.4\n4.2  four  4.6\n4.8  actually once more now  6.4"
    words = ("four", "actually", "once", "more", "now")

    def answer(request: AlignmentRequest) -> Alignment:
        marks = [request.window.start_ms + at * request.window.length_ms // len(request.words) for at in range(9)]
        poor = request.window.start_ms > 4500 and request.words == words
        scores = [-32.0 if poor and at == 0 else -15.0 for at in range(len(request.words))]
        return Alignment(request, tuple(map(AlignedWord, request.words, spans(marks), scores)))

    ground = Ground(script("Four, actually, once more now."), told(said), lambda requests: tuple(map(answer, requests)))
    marks = (2000, 2600, 3000, 3400, 5600, 6400)
    whole = tuple(ReadWord(*row, None) for row in zip(words, spans(marks), strict=True))
    start, line = with_starts(ground, [Attempt(0, True, 5, whole, (), 0.3, laid=True, score=-25.0)])
    assert start.texts == words[:3]
    assert line.span.start_ms == pytest.approx(4200, abs=200)


@pytest.mark.parametrize(("rest", "count"), [(NEARER_ANEW, 2), (NEARER_ANEW + 0.05, 1), (None, 1)])
def test_a_line_is_begun_anew_where_it_sounds_far_more_like_its_other_readings_so(
    rest: float | None, count: int
) -> None:
    """Though the aligner finds its first word but once. ``rest``: how far what stands behind the pause is from the
    other reading, where all of it is 1 away."""
    other = replace(vera(), words=tuple(replace(word, span=Span(9000, 12_000)) for word in vera().words))

    def compare(span: Span, _: Span) -> Like | None:
        if span.start_ms == 2000:
            return Like(1.0)
        return None if rest is None else Like(rest)

    ground = replace(answering(3300, -90.0), compare=compare)
    assert len(with_starts(ground, [vera(), other])) == count + 1
    deaf = replace(
        ground, compare=lambda span, _: None if span.start_ms == 2000 else Like(0.1)
    )  # as of all that is long
    assert len(with_starts(deaf, [vera(), other])) == 2
    assert len(with_starts(ground, [vera()])) == 1  # there is no other reading


def test_so_is_one_of_which_nothing_was_heard_as_its_words() -> None:
    """What was heard is no line's; the aligner, asked about all of it, lays the line's first word before the pause."""
    heard = told("2.8  but no  3.1\n3.3  matter at all is the otter  5.0")
    ground = answering(3300, -22.0)
    marks = spans((2800, 3400, 3900, 4300, 4500, 5000))

    def answer(request: AlignmentRequest) -> Alignment:
        if request.words == VERA and request.window.start_ms < 3000:
            return Alignment(request, tuple(AlignedWord(*word, -16.0) for word in zip(VERA, marks, strict=True)))
        (found,) = ground.align([request])
        return found

    settled = settle(replace(ground, hearing=heard, align=lambda requests: tuple(map(answer, requests))))
    told_as = [(each.line, each.full, each.span) for each in settled.attempts]
    assert told_as == [(1, False, Span(2800, 3100)), (1, True, Span(3300, 5000))]
