"""Passes: how often the passage is read, and in which manner."""

from __future__ import annotations

from itertools import chain

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessoncut.matching.passes import Spoken, split_passes

SHORT, LONG = 500, 3000


def read(places: str, pause_ms: int) -> list[Spoken]:
    """``"0 1 2"`` are full readings of these lines, ``"~1"`` one that is broken off."""
    return [Spoken(int(place.strip("~")), "~" not in place, pause_ms) for place in places.split()]


def passes(*readings: list[Spoken], lines: int) -> list[tuple[str, int, int]]:
    return [(p.kind, p.first, p.last) for p in split_passes(list(chain(*readings)), lines)]


def test_model_then_repeat() -> None:
    assert passes(read("0 1 2 3", SHORT), read("0 1 2 3", LONG), lines=4) == [("model", 0, 3), ("repeat", 4, 7)]


def test_repeat_then_model() -> None:
    assert passes(read("0 1 2 3", LONG), read("0 1 2 3", SHORT), lines=4) == [("repeat", 0, 3), ("model", 4, 7)]


def test_two_repeat_passes() -> None:
    found = passes(read("0 1 2", SHORT), read("0 1 2", LONG), read("0 1 2", LONG), lines=3)
    assert [kind for kind, _, _ in found] == ["model", "repeat", "repeat"]


@pytest.mark.parametrize(("pause_ms", "kind"), [(SHORT, "model"), (1390, "model"), (1410, "repeat")])
def test_a_lone_pass_is_a_repeat_pass_if_its_pauses_are_longer_than_reading_has(pause_ms: int, kind: str) -> None:
    """Pauses of reading lie below 1.4 s: Campione and Veronis (2002), Speech Prosody."""
    assert passes(read("0 1 2 3", pause_ms), lines=4) == [(kind, 0, 3)]


def test_retakes_and_broken_starts_stay_in_their_pass() -> None:
    found = passes(read("0 ~1 1 1 2 3", SHORT), read("0 0 1 2 ~3 3", LONG), lines=4)
    assert found == [("model", 0, 5), ("repeat", 6, 11)]


def test_a_restart_half_way_is_one_pass() -> None:
    first = read("0 1 2 3 0 1 2 3 4 5 6 7 8 9", SHORT)
    found = passes(first, read("0 1 2 3 4 5 6 7 8 9", LONG), lines=10)
    assert found == [("model", 0, 13), ("repeat", 14, 23)]


def test_a_restart_belongs_to_the_pass_whose_manner_it_has() -> None:
    model = read("0 1 2 3 0 1 2 3 4 5 6 7 8 9", SHORT)
    found = passes(read("0 1 2 3 4 5 6 7 8 9", LONG), model, lines=10)
    assert found == [("repeat", 0, 9), ("model", 10, 23)]


def test_lines_dropped_where_passes_meet() -> None:
    found = passes(read("0 1 2 3 4", SHORT), read("1 2 3 4 5", LONG), lines=6)
    assert found == [("model", 0, 4), ("repeat", 5, 9)]


def test_what_begins_anew_after_the_end_is_no_retake_though_lines_are_missing_both_times() -> None:
    """A take with nothing but short pauses in which line 4 is picked up after the ending, as in a real one."""
    picked_up = [*read("0 1 ~2 2 3 5", SHORT), *read("0 1 3", SHORT), Spoken(5, True, None), Spoken(4, True, None)]
    assert passes(picked_up, lines=6) == [("model", 0, 5), ("repeat", 6, 10)]


def test_both_passes_read_alike_still_give_one_model_reading() -> None:
    assert [kind for kind, _, _ in passes(read("0 1 2", SHORT), read("0 1 2", SHORT), lines=3)] == ["model", "repeat"]


@given(st.integers(2, 12), st.integers(1, 3), st.data())
def test_clean_passes_are_always_found(lines: int, repeats: int, data: st.DataObject) -> None:
    readings = [Spoken(place, True, data.draw(st.integers(100, 900))) for place in range(lines)]
    for _ in range(repeats):
        readings += [Spoken(place, True, data.draw(st.integers(1500, 8000))) for place in range(lines)]
    found = split_passes(readings, lines)
    assert [(p.first, p.last) for p in found] == [(lines * at, lines * (at + 1) - 1) for at in range(repeats + 1)]
    assert [p.kind for p in found] == ["model"] + ["repeat"] * repeats
