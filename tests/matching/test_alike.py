"""Readings of near twins fall into groups that sound alike; each group is one line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.cluster.hierarchy import fcluster, linkage
from scipy.spatial.distance import squareform

from lessoncut.hearing.records import AlignmentRequest, HeardWord
from lessoncut.hearing.told import told
from lessoncut.matching.alike import groups_alike, with_alike_as_one
from lessoncut.matching.attempts import Attempt
from lessoncut.matching.ground import Ground
from lessoncut.matching.records import Change, ReadWord
from lessoncut.matching.speakers import VoiceOf
from lessoncut.times import Span
from tests.matching.scripts import script
from tests.matching.sounding import scoring
from tests.matching.test_speakers import Colour

BEDS = "Good.\nThe pen is on the bed.\nThe pan is on the bed.\nIt rains."
TWICE = [0, 1, 2, 3, 0, 1, 2, 3]
ONE_PAN = [0.0, 0.0, 0.05, 0.0, 0.0, 0.02, 0.8, 0.0]


@given(st.lists(st.floats(0, 10), min_size=2, max_size=8, unique=True))
def test_the_groups_are_those_of_complete_linkage(places: list[float]) -> None:
    """Against SciPy's hierarchical clustering."""
    apart = [[abs(a - b) for b in places] for a in places]
    distances = [value for row in apart for value in row if value]
    if len(set(np.round(distances, 6))) < len(distances) / 2:
        return  # which of two equal distances is joined first is anybody's choice
    groups = groups_alike(apart, most=len(places))
    if groups:
        labels = fcluster(linkage(squareform(np.array(apart)), "complete"), len(groups), "maxclust")
        assert {frozenset(np.flatnonzero(labels == label)) for label in set(labels)} == set(groups)


@pytest.mark.parametrize(
    ("places", "groups"),
    [
        ((0.0, 0.1, 0.8, 0.9), [{0, 1}, {2, 3}]),
        ((0.0, 0.1, 0.8), [{0, 1}, {2}]),
        ((0.0, 0.8), []),  # nothing tells how far one line's readings are apart
        ((0.0, 0.1, 0.2, 0.3), []),  # no gap
        ((0.0, 0.01, 0.1, 0.11), []),  # all of them near
        ((), []),
    ],
)
def test_readings_fall_into_groups_only_where_these_are_well_parted(
    places: Sequence[float], groups: list[set[int]]
) -> None:
    assert list(groups_alike([[abs(a - b) for b in places] for a in places], most=3)) == groups


def ground(pen: float = -15.0, pan: float = -15.0) -> Ground:
    """Where "pen" and "pan" have these scores everywhere."""

    scores = {"pen": pen, "pan": pan}

    def score_of(request: AlignmentRequest, _: str) -> float:
        return next((score for word, score in scores.items() if word in request.words), -15.0)

    return Ground(script(BEDS), told("0.0  the pen is on the bed  1.5"), scoring(score_of))


def read(ground: Ground, lines: Sequence[int], doubt: float = 0.3) -> list[Attempt]:
    """Readings of the lines, two seconds apart."""
    found = []
    for at, line in enumerate(lines):
        texts = ground.spoken_words[line]
        spans = [Span(at * 2000 + 300 * word, at * 2000 + 300 * word + 300) for word in range(len(texts))]
        words = tuple(ReadWord(text, span, None) for text, span in zip(texts, spans, strict=True))
        found.append(Attempt(line, True, len(words), words, (), doubt, laid=True, score=-15.0))
    return found


def colours(second_words: Sequence[float], lines: Sequence[float] | None = None) -> VoiceOf:
    """The colour of each reading's second word, and of the rest of it."""

    def voice_of(span: Span) -> Colour:
        at, inside_ms = divmod(span.middle_ms, 2000)
        return Colour(second_words[at] if inside_ms < 700 else (lines or [0.0] * len(second_words))[at])

    return voice_of


def lines_of(attempts: Sequence[Attempt]) -> list[int]:
    return [attempt.line for attempt in attempts]


def test_a_pen_that_was_taken_for_the_pan_that_ought_to_follow_is_a_pen() -> None:
    here = ground(pen=-15.0, pan=-16.0)
    attempts = read(here, TWICE)
    heard = colours(ONE_PAN)
    assert lines_of(with_alike_as_one(replace(here, voice_of=heard), attempts)) == [0, 1, 1, 3, 0, 1, 2, 3]


def test_where_the_groups_are_two_speakers_they_say_nothing_of_the_lines() -> None:
    here = ground(pen=-15.0, pan=-16.0)
    attempts = read(here, TWICE)
    heard = colours(ONE_PAN, ONE_PAN)
    assert lines_of(with_alike_as_one(replace(here, voice_of=heard), attempts)) == TWICE


def test_a_reading_that_is_hardly_laid_is_compared_with_none() -> None:
    here = ground(pen=-15.0, pan=-16.0)
    attempts = read(here, TWICE, doubt=2.0)
    heard = colours(ONE_PAN)
    assert lines_of(with_alike_as_one(replace(here, voice_of=heard), attempts)) == TWICE


def test_a_reading_with_another_word_in_it_is_compared_with_none() -> None:
    """It may be like neither: "the pencil is on the bed"."""
    here = ground(pen=-15.0, pan=-16.0)
    pencil = Change(1, 1, ("pen",), ("pencil",))
    attempts = [replace(each, changes=(pencil,)) for each in read(here, TWICE)]
    assert lines_of(with_alike_as_one(replace(here, voice_of=colours(ONE_PAN)), attempts)) == TWICE


def test_what_sounds_alike_is_no_one_line_where_too_much_speaks_against_it() -> None:
    """Each line of both passes would be left out, and the other one read twice."""
    here = ground(pen=-15.0, pan=-15.0)
    attempts = read(here, TWICE)
    heard = colours([0.0, 0.0, 0.05, 0.0, 0.0, 0.8, 0.82, 0.0])
    assert lines_of(with_alike_as_one(replace(here, voice_of=heard), attempts)) == TWICE


def test_what_is_heard_in_every_group_says_nothing_of_the_lines() -> None:
    """The recogniser makes "really" of both in this voice; but they sound apart, and each is missing once."""
    words = "Good.\nReally?\nRarely.\nIt rains."
    here = Ground(script(words), told("0.0  really  0.3"), scoring(lambda _, __: -15.0))
    sounds = colours([0.0, 0.0, 0.8, 0.0, 0.0, 0.02, 0.82, 0.0])
    read_ = read(here, [0, 1, 1, 3] * 2)
    heard = [replace(each, heard=(HeardWord("really", each.span, 0.95),)) for each in read_]
    assert lines_of(with_alike_as_one(replace(here, voice_of=sounds), heard)) == TWICE
