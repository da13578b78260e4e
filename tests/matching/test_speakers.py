"""A second speaker who repeats after the teacher is told apart."""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessoncut.matching.follow import twins_in_order
from lessoncut.matching.speakers import SURELY_TWO, Voice, is_clearly_second, is_second, second_speaker
from tests.matching.scripts import script


@dataclass(frozen=True)
class Colour:
    """A voice on a line: the distance is the difference."""

    place: float

    def distance(self, other: Voice) -> float:
        assert isinstance(other, Colour)
        return abs(self.place - other.place)

    apart = distance


def voices(*places: float) -> list[Voice | None]:
    return [Colour(place) for place in places]


@given(st.lists(st.tuples(st.integers(0, 3), st.none() | st.floats(0, 3)), max_size=14))
def test_any_row_of_readings_has_a_verdict(readings: list[tuple[int, float | None]]) -> None:
    """Never the first of all; and the same again."""
    lines = [line for line, _ in readings]
    heard: list[Voice | None] = [None if place is None else Colour(place) for _, place in readings]
    found = second_speaker(lines, heard)
    assert found <= set(range(1, len(lines)))
    assert found == second_speaker(lines, heard)


def test_one_speaker_is_one() -> None:
    assert second_speaker([0, 1, 0, 1], voices(0.0, 0.1, 0.2, 0.3)) == frozenset()


def test_a_learner_after_each_line_is_the_other() -> None:
    # model reading of lines 0 and 1, then each line by the teacher and again by a learner
    assert second_speaker([0, 1, 0, 0, 1, 1], voices(0.0, 0.0, 0.1, 1.5, 0.2, 1.4)) == {3, 5}


def test_a_learner_with_a_voice_not_far_from_hers_is_told_by_the_gap() -> None:
    apart = SURELY_TWO - 0.1
    heard = voices(0.0, 0.0, 0.0, 0.1, apart, 0.1, apart, 0.1, apart)
    assert second_speaker([0, 1, 2, 0, 0, 1, 1, 2, 2], heard) == {4, 6, 8}


def test_a_voice_near_hers_is_anothers_where_she_is_all_but_the_same_each_time() -> None:
    """Distances of 0.02 to 0.06 were measured for her own retakes, and of 0.46 to 0.68 for the learner's echoes."""
    lines = [0, 0, 1, 1, 2, 2, 3, 3, 4, 4]
    heard = voices(0.0, 0.05, 0.0, 0.02, 0.0, 0.5, 0.0, 0.46, 0.0, 0.6)
    assert second_speaker(lines, heard) == {5, 7, 9}
    unsteady = voices(0.0, 0.3, 0.0, 0.25, 0.0, 0.5, 0.0, 0.46, 0.0, 0.4)
    assert second_speaker(lines, unsteady) == frozenset()


def test_one_reading_in_a_somewhat_other_voice_is_hers() -> None:
    """A learner who repeats does so more than once; two takes of one sentence may sound as far apart."""
    apart = SURELY_TWO - 0.1
    assert second_speaker([0, 0, 1], voices(0.0, apart, 0.0)) == frozenset()


def test_where_somebody_surely_repeats_an_echo_not_so_far_away_is_theirs_too() -> None:
    """Distances of 0.6 to 0.66 were measured for short lines of a learner, and at most 0.46 for her own."""
    lines = [line for line in range(5) for _ in range(2)]
    heard = voices(0.0, 1.1, 0.0, 0.7, 0.0, 1.0, 0.0, 0.56, 0.0, 1.2)
    assert second_speaker(lines, heard) == {1, 3, 5, 7, 9}


def test_an_unsure_echo_far_from_any_sure_one_is_hers() -> None:
    """Who repeats does so in the repeat pass, line after line; in the model reading she repeats herself."""
    model = [0, 0, *range(1, 9)]
    repeat = [line for line in range(6, 9) for _ in range(2)]
    heard = voices(0.0, 0.66, *[0.0] * 8, *[0.0, 1.1] * 3)
    assert second_speaker([*model, *repeat], heard) == {11, 13, 15}
    nearer = voices(*[0.0] * 10, 0.0, 1.1, 0.0, 0.66, 0.0, 1.1, 0.0, 1.1)
    assert second_speaker([*model, 6, 6, 5, 5, 7, 7, 8, 8], nearer) == {11, 13, 15, 17}


@pytest.mark.parametrize(("start", "is_theirs"), [(1.5, True), (0.9, False)])
def test_a_learners_start_is_told_by_the_learners_readings_of_that_line(start: float, is_theirs: bool) -> None:
    assert is_second(Colour(start), voices(0.0, 0.1), voices(2.0)) == is_theirs
    assert not is_second(None, voices(0.0), voices(2.0))
    assert not is_second(Colour(start), [None], voices(2.0))
    assert not is_second(Colour(start), voices(0.0), [])


@pytest.mark.parametrize(("start", "is_theirs"), [(1.5, True), (1.0, False), (0.2, False)])
def test_a_long_start_of_a_line_that_the_learner_did_not_read_is_told_by_the_other_lines(
    start: float, is_theirs: bool
) -> None:
    assert is_clearly_second(Colour(start), voices(0.0, 0.1, 0.2), voices(2.0, 1.9)) == is_theirs
    assert not is_clearly_second(None, voices(0.0, 0.1), voices(2.0, 1.9))
    assert not is_clearly_second(Colour(start), voices(0.0, 0.1), voices(2.0))  # one of theirs is no voice


def test_noise_in_the_first_reading_of_a_line_makes_nobody_of_the_second() -> None:
    assert second_speaker([0, 1, 2, 0, 1, 2], voices(2.0, 0.0, 0.0, 0.0, 0.1, 0.1)) == frozenset()


def test_what_follows_no_reading_of_its_line_is_hers_however_far_and_what_is_like_it_too() -> None:
    assert second_speaker([0, 1, 0, 0], voices(0.0, 0.0, 1.0, 1.1)) == frozenset()
    assert second_speaker([0, 1, 0, 0], voices(0.0, 0.0, 0.1, 1.1)) == {3}


def test_the_first_reading_of_a_line_is_always_hers_and_no_voice_is_no_verdict() -> None:
    assert second_speaker([0, 1, 1], [Colour(0.0), Colour(9.0), None]) == frozenset()


def test_lines_alike_take_the_places_that_the_order_gives_them() -> None:
    refrain = script("Row on.\nThe wind is warm.\nRow on.\nThe water is blue.")
    assert twins_in_order(refrain, [0, 1, 0, 3]) == (0, 1, 2, 3)
    assert twins_in_order(refrain, [2, 1, 2, 3, 2, 1]) == (0, 1, 2, 3, 0, 1)
    assert twins_in_order(refrain, []) == ()


def test_who_repeats_a_line_that_is_taken_for_another_is_told_by_the_learners_own_voice() -> None:
    """ "Sick coat" repeated and heard as "thick coat" follows no reading of its own line."""
    lines = [0, 1, 2, 3, 2, 2, 0, 1, 1, 0, 3, 3, 4, 4]
    heard = voices(*[0.0] * 4, 0.1, 2.5, 0.1, 2.4, 0.0, 2.5, 0.1, 2.6, 0.0, 2.4)
    assert second_speaker(lines, heard) == {5, 7, 9, 11, 13}


def test_her_own_reading_far_from_the_model_is_hers_where_it_is_near_her_others_of_that_pass() -> None:
    """A pass in another room: each of her readings is as far from the model reading as the learner is."""
    lines = [0, 1, 2, 3, 0, 0, 1, 1, 2, 2, 3]
    heard = voices(*[0.0] * 4, 0.9, 2.0, 0.95, 2.1, 0.9, 2.0, 1.0)
    assert second_speaker(lines, heard) == {5, 7, 9}


def test_a_learner_with_a_voice_near_hers_is_told_by_all_of_the_echoes_being_further() -> None:
    """Echoes of 0.46 to 0.84 were measured, without a gap; of her own retakes hardly one is further than 0.42."""
    lines = [line for line in range(8) for _ in range(2)]
    echoes = [0.46, 0.49, 0.59, 0.6, 0.61, 0.63, 0.64, 0.84]
    heard = voices(*(place for echo in echoes for place in (0.0, echo)))
    assert second_speaker(lines, heard) == set(range(1, 16, 2))
    few = voices(*(place for echo in [0.1, 0.2, 0.1, 0.3, 0.2, 0.5, 0.55, 0.6] for place in (0.0, echo)))
    assert second_speaker(lines, few) == frozenset()


def test_where_nearly_all_echoes_are_anothers_no_gap_need_part_them() -> None:
    """Though some are surely so: here another's run from somewhat to far unlike her, and hers are like her."""
    lines = [*range(12), *[line for line in range(12) for _ in range(2)]]
    apart = [0.57, 0.62, 0.64, 0.66, 0.58, 0.99, 0.57, 0.95, 0.52, 0.67, 0.92, 1.14]
    heard = voices(*[0.0] * 12, *[each for distance in apart for each in (0.0, distance)])
    assert second_speaker(lines, heard) == set(range(13, 36, 2))


@pytest.mark.parametrize(("between", "found"), [(3, True), (4, False)])
def test_an_unsure_echo_may_stand_near_another(between: int, found: bool) -> None:
    """That stands near sure ones. ``between``: lines that nobody repeats, in pairs."""
    silent = list(range(20, 20 + 2 * between))
    lines = [*range(8), 0, 0, *silent, *[line for line in range(1, 8) for _ in range(2)]]
    heard = voices(*[0.0] * 8, 0.0, 0.6, *[0.0] * len(silent), *[0.0, 0.6], *[0.0, 1.1] * 6)
    assert (9 in second_speaker(lines, heard)) == found


@pytest.mark.parametrize(("own", "is_theirs"), [(0.7, True), (0.4, False)])
def test_an_echo_is_hers_only_where_it_is_far_nearer_to_her_other_lines(own: float, is_theirs: bool) -> None:
    """It is far from her reading of that very line; ``own``: from her others, where the learner's are 1 away."""
    lines = [line for line in range(8) for _ in range(2)]
    echo = 2.0
    row = [0.0, 3.0] * 8
    row[8], row[9] = echo - own - 2.0, echo
    hers = [echo - own] * 8
    heard = voices(*(hers[at // 2] if at % 2 == 0 and at != 8 else place for at, place in enumerate(row)))
    assert (9 in second_speaker(lines, heard)) == is_theirs
