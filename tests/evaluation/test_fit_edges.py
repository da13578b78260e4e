"""Fitting the networks that tell edges, on edges that are known."""

from __future__ import annotations

import json

import numpy as np
import pytest

from lessoncut.hearing import edges
from lessoncut.hearing.edge_nets import QUANTILES, SIDES, EdgeNets
from lessoncut.times import Span
from tests.evaluation.fit_edges import FITTED_ON, Shown, fit, measured, shown
from tests.evaluation.laid_edges import Laid, against_truth, drawn, elsewhere
from tests.evaluation.signals import EDGE_DEPTH_DB
from tests.evaluation.texts import texts


def test_of_what_cannot_be_told_apart_the_quantiles_are_those_of_all() -> None:
    """Koenker and Bassett (1978): a sample's quantile is what the slanted loss is least for. Beside numpy's."""
    rng = np.random.default_rng(3)
    outside_ms = rng.gamma(2.0, 30.0, 4000)
    same = Shown(np.zeros((1, 4000, 2), np.float32), outside_ms, shifts=(0,))
    told = fit(same, 0, epochs=60).quantiles_ms(np.zeros((1, 1, 2)))[0, 0]
    assert told == pytest.approx(np.quantile(outside_ms, QUANTILES), abs=6)


def test_an_edge_that_can_be_seen_is_told() -> None:
    seen, unseen = (
        shown([drawn(np.random.default_rng(seed)) for seed in seeds]) for seeds in (range(16), range(90, 94))
    )
    laid = np.median(unseen.outside_ms)
    where_laid = unseen.views[[unseen.shifts.index(0)]].astype(np.float64)
    told = fit(seen, 0, epochs=20).quantiles_ms(where_laid)[0, :, QUANTILES.index(0.5)]
    assert np.median(abs(unseen.outside_ms - told)) < 0.5 * np.median(abs(unseen.outside_ms - laid))


def test_drawn_lines_end_where_they_are_as_deep_as_a_line_is() -> None:
    take = drawn(np.random.default_rng(5), lines=6)
    for start_ms, end_ms, limits in zip(take.start_ms, take.end_ms, take.limits, strict=True):
        level = take.levels.voice_db[int(start_ms) // 10 : int(end_ms) // 10]
        deepest = level.max() - EDGE_DEPTH_DB
        assert min(level[0], level[-1]) > deepest
        assert limits.start_ms <= start_ms < end_ms <= limits.end_ms
        assert take.levels.voice_db[int(end_ms) // 10] <= deepest


def test_elsewhere_it_is_louder_between_the_lines_and_the_edges_are_the_same() -> None:
    take = drawn(np.random.default_rng(6), lines=6)
    moved = elsewhere(take, np.random.default_rng(7))
    assert (moved.levels.voice_db >= take.levels.voice_db - 0.01).all()
    assert np.percentile(moved.levels.voice_db, 5) > np.percentile(take.levels.voice_db, 5)
    assert (moved.start_ms, moved.end_ms, moved.laid) == (take.start_ms, take.end_ms, take.laid)


def test_what_is_laid_is_held_against_the_reading_it_mostly_lies_in() -> None:
    take = drawn(np.random.default_rng(8), lines=2)
    truth = {"readings": [{"start_s": 1.0, "end_s": 2.0}, {"start_s": 5.0, "end_s": 6.0}]}
    laid = [Span(1050, 2100), Span(3000, 4000)]
    told = against_truth(take.levels, laid, laid, truth)
    assert told.start_ms[0] == 1000
    assert told.end_ms[0] == 2000
    assert np.isnan([told.start_ms[1], told.end_ms[1]]).all()


def test_what_was_measured_is_how_far_outside_the_edges_lie() -> None:
    take = drawn(np.random.default_rng(9), lines=3)
    views = shown([take]).views.shape[2]
    nothing = EdgeNets(((np.zeros((1, views, len(QUANTILES))), np.zeros((1, len(QUANTILES)))),))
    found = edges.true_edges(take.levels, take.laid, take.limits, lambda _: nothing)
    ends = np.array([one.end_ms for one in found]) - np.array(take.end_ms)
    said = measured([take], dict.fromkeys(SIDES, nothing)).splitlines()[1]
    assert said.startswith(f"ends: 3, middle error {np.median(abs(ends)):.0f} ms")


def test_backwards_twice_is_as_before() -> None:
    take = drawn(np.random.default_rng(10), lines=3)
    again: Laid = take.backwards.backwards
    assert (again.laid, again.limits, again.start_ms) == (take.laid, take.limits, take.start_ms)
    assert (again.levels.voice_db == take.levels.voice_db).all()


def test_no_family_is_fitted_on_that_checks_or_was_measured_last() -> None:
    used = set(json.loads(FITTED_ON.read_text(encoding="utf-8")))
    assert not used & {"held", "fresh33"}
    assert all(texts(family).blocks for family in used)
