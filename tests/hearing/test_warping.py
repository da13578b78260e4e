"""How alike stretches of sound are, moment by moment."""

from __future__ import annotations

import gc
import weakref

import numpy as np
import pytest
from dtaidistance import dtw_ndim
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from numpy.typing import NDArray

from lessoncut.hearing.mel import HOP_MS
from lessoncut.hearing.warping import (
    LONGER_BEGUN,
    LONGEST_BEGUN_MS,
    LONGEST_MS,
    SHORTER_BEGUN,
    SHORTEST_BEGUN_MS,
    SHORTEST_MS,
    Comparer,
    Likeness,
    _beginnings,
    _cheapest,
    _costs,
    _distances,
)
from lessoncut.take.samples import RATE_HZ, Samples
from lessoncut.times import Span

VOWELS = {"a": (730.0, 1090.0), "i": (270.0, 2290.0), "u": (300.0, 870.0)}
"""First two formants of a man's vowels, Hz: Peterson and Barney 1952, table II (values from memory)."""


def spoken(vowels: str, ms_each: int = 400, hz: float = 120.0, noise: float = 30.0, seed: int = 1) -> Samples:
    """One vowel after the other: the pulses of a voice, each harmonic as loud as it is near a formant."""
    at = np.arange(RATE_HZ * ms_each // 1000) / RATE_HZ
    pieces = []
    for vowel in vowels:
        harmonics = hz * np.arange(1, int(4000 / hz))
        apart = (harmonics[:, None] - np.array(VOWELS[vowel])) / 80.0
        loud = (1 / (1 + apart**2)).sum(axis=1)
        pieces.append(loud @ np.sin(2 * np.pi * harmonics[:, None] * at))
    sound = np.concatenate(pieces)
    room = np.random.default_rng(seed).standard_normal(len(sound))
    return np.asarray(4000 * sound + noise * room, np.int16)


def take(*parts: Samples) -> tuple[Samples, list[Span]]:
    """The parts with half a second of room between, and where they are."""
    room = np.random.default_rng(9)
    pieces, spans, at = [], [], 0
    for part in parts:
        quiet = np.asarray(30 * room.standard_normal(RATE_HZ // 2), np.int16)
        pieces += [quiet, part]
        at += len(quiet)
        spans.append(Span(at * 1000 // RATE_HZ, (at + len(part)) * 1000 // RATE_HZ))
        at += len(part)
    return np.concatenate(pieces), spans


def likeness(first: Samples, second: Samples) -> Likeness:
    samples, (one, other) = take(first, second)
    found = Comparer(samples).compare(one, other)
    assert found is not None
    return found


def parts_of(span: Span, count: int) -> list[Span]:
    each = span.length_ms // count
    return [Span(span.start_ms + at * each, span.start_ms + (at + 1) * each) for at in range(count)]


@pytest.mark.parametrize("ms_each", [300, 400, 600])
def test_what_is_said_otherwise_is_unlike_however_fast_the_rest_is_said(ms_each: int) -> None:
    found = likeness(spoken("aiua", 400), spoken("aiia", ms_each, seed=2))
    apart = [found.apart(part) for part in parts_of(found.span, 4)]
    assert apart[2] > 2 * max(apart[0], apart[1], apart[3])


def test_what_is_said_the_same_is_alike_all_through() -> None:
    found = likeness(spoken("aiua"), spoken("aiua", 500, seed=2))
    assert all(found.apart(part) < 2 for part in parts_of(found.span, 4))


def test_both_ways_of_asking_give_the_same_answer_and_in_any_order() -> None:
    samples, (one, other) = take(spoken("aiu"), spoken("aau", seed=2))
    comparer, another = Comparer(samples), Comparer(samples)
    here, there = comparer.compare(one, other), comparer.compare(other, one)
    again, first = another.compare(other, one), another.compare(one, other)
    assert here and there and again and first
    assert np.array_equal(here.distances, first.distances)
    assert np.array_equal(there.distances, again.distances)
    assert len(here.distances) == pytest.approx(one.length_ms / HOP_MS, abs=3)


@pytest.mark.parametrize(("vowels", "least_ms", "most_ms"), [("aiua", 0, 60), ("aiu", 300, 450), ("ai", 650, 850)])
def test_a_stretch_that_breaks_off_lacks_the_end_of_the_other(vowels: str, least_ms: int, most_ms: int) -> None:
    found = likeness(spoken(vowels), spoken("aiua", seed=2))
    assert least_ms <= found.lacking_ms <= most_ms


def test_nothing_is_said_of_what_is_too_short_or_too_long() -> None:
    samples, (one, other) = take(spoken("a" * 40), spoken("ai"))
    compare = Comparer(samples).compare
    assert compare(Span(one.start_ms, one.start_ms + LONGEST_MS + 1), other) is None
    assert compare(other, Span(one.start_ms, one.start_ms + SHORTEST_MS - 1)) is None
    assert compare(Span(one.start_ms, one.start_ms + SHORTEST_MS), other) is not None


def test_the_sound_is_let_go_of_at_once() -> None:
    """It is a file on a disk that may be full."""
    samples, (one, other) = take(spoken("ai"), spoken("ai", seed=2))
    held = weakref.ref(samples)
    comparer = Comparer(samples)
    assert comparer.compare(one, other) is not None
    gc.disable()
    try:
        del samples, comparer
        assert held() is None
    finally:
        gc.enable()


def test_digital_silence_is_as_far_as_usual_from_itself() -> None:
    found = Comparer(np.zeros(RATE_HZ * 3, np.int16)).compare(Span(0, 500), Span(1000, 1800))
    assert found is not None
    assert found.apart(Span(100, 300)) == 0.0


def test_a_part_beyond_the_end_is_the_last_of_it() -> None:
    found = likeness(spoken("ai"), spoken("ai", seed=2))
    beyond = Span(found.span.end_ms + 50, found.span.end_ms + 90)
    assert found.apart(beyond) == pytest.approx(found.distances[-3:].mean() / found.usual)


tables = st.tuples(st.integers(1, 9), st.integers(1, 9)).flatmap(
    lambda shape: arrays(np.float64, shape, elements=st.integers(0, 8).map(float))
)


@given(tables)
def test_the_way_is_as_cheap_as_the_plain_table_says(apart: NDArray[np.float64]) -> None:
    rows, columns = _cheapest(_costs(apart))
    assert (rows[0], columns[0]) == (0, 0)
    assert (rows[-1] + 1, columns[-1] + 1) == apart.shape
    steps = set(zip(np.diff(rows).tolist(), np.diff(columns).tolist(), strict=True))
    assert steps <= {(1, 1), (1, 0), (0, 1)}
    assert apart[rows, columns].sum() == pytest.approx(cheapest(apart))


def cheapest(apart: NDArray[np.float64]) -> float:
    """Cell by cell, as in Sakoe and Chiba 1978, equation 6, with one price for all steps."""
    costs: dict[tuple[int, int], float] = {}
    for row in range(apart.shape[0]):
        for column in range(apart.shape[1]):
            before = [costs.get(cell, np.inf) for cell in ((row - 1, column - 1), (row - 1, column), (row, column - 1))]
            costs[row, column] = float(apart[row, column]) + (min(before) if row or column else 0.0)
    return costs[apart.shape[0] - 1, apart.shape[1] - 1]


@pytest.mark.parametrize("seed", range(5))
def test_the_way_is_that_of_a_reference_library(seed: int) -> None:
    """dtaidistance (KU Leuven), whose distances are squared."""
    random = np.random.default_rng(seed)
    first, second = (random.standard_normal((count, 3)) for count in random.integers(2, 60, 2))
    squares = ((first[:, None] - second[None]) ** 2).sum(axis=2)
    rows, columns = _cheapest(_costs(squares))
    assert list(zip(rows.tolist(), columns.tolist(), strict=True)) == dtw_ndim.warping_path(first, second)


@pytest.mark.parametrize(("vowels", "least_ms", "most_ms"), [("ai", 700, 900), ("aiu", 1100, 1300), ("a", 300, 500)])
def test_a_start_is_most_like_what_the_line_begins_in(vowels: str, least_ms: int, most_ms: int) -> None:
    samples, (start, line, other) = take(spoken(vowels), spoken("aiuau", seed=2), spoken("uaiai", seed=3))
    its, anothers = Comparer(samples).beginnings(start, [line, other])
    assert least_ms <= its.length_ms <= most_ms
    assert its.distance < anothers.distance / 2


@pytest.mark.parametrize("seed", range(4))
def test_beginnings_looked_for_side_by_side_are_those_found_one_by_one(seed: int) -> None:
    """A beginning after another, each by the plain table."""
    random = np.random.default_rng(seed)
    one, *others = (random.standard_normal((count, 3)).astype(np.float32) for count in random.integers(2, 18, 5))
    for other, found in zip(others, _beginnings(one, others), strict=True):
        apart = _distances(one, other)
        shortest = min(int(SHORTER_BEGUN * len(one)), len(other) - 1)
        means = {end: cheapest(apart[:, :end]) / (len(one) + end) for end in range(shortest + 1, len(other) + 1)}
        assert found.distance == pytest.approx(min(means.values()))
        assert means[found.length_ms // HOP_MS] == pytest.approx(found.distance)


def test_no_beginning_is_told_of_what_is_too_short_or_too_long() -> None:
    """Nor is more looked at of the others than may be begun so."""
    samples, (long, other) = take(spoken("a" * 20), spoken("aiua"))
    beginnings = Comparer(samples).beginnings
    for length_ms in (SHORTEST_BEGUN_MS - 1, LONGEST_BEGUN_MS + 1):
        assert beginnings(Span(long.start_ms, long.start_ms + length_ms), [other]) == ()
    short = Span(long.start_ms, long.start_ms + SHORTEST_BEGUN_MS)
    assert beginnings(short, []) == ()
    (found,) = beginnings(short, [other])
    assert found.length_ms <= LONGER_BEGUN * SHORTEST_BEGUN_MS
