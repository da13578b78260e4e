"""The lesson's sound against the take's, sample by sample."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lessoncut.render.samples import RATE_HZ, Chunk
from lessoncut.render.sound import Source, lesson_sound, sample_of
from lessoncut.render.tone import tone_of
from lessoncut.timeline.records import Timeline
from lessoncut.times import FrameRate, Span
from tests.render.sounding import ArrayTrack, room, timeline, voice

RATES = [FrameRate(Fraction(25)), FrameRate(Fraction(30000, 1001)), FrameRate(Fraction(60000, 1001)),
         FrameRate(Fraction(100))]  # fmt: skip
HALF = 240
"""Samples in half a crossfade of 10 ms."""
SPOKEN = (Span(1000, 2500), Span(4000, 5500), Span(8000, 9000))


def source(*tracks: ArrayTrack, sounding: tuple[Span, ...] = SPOKEN) -> Source:
    return Source(tracks, tuple(tone_of(track, sounding) for track in tracks))


def heard(lesson: Timeline, given_source: Source) -> Chunk:
    return np.concatenate(list(lesson_sound(lesson, given_source)))


TAKE = ArrayTrack(voice(10, SPOKEN))


@pytest.mark.parametrize("rate", RATES, ids=lambda rate: str(rate.per_second))
def test_frames_begin_at_their_sample(rate: FrameRate) -> None:
    for frame in (0, 1, 7, 1000, 107_892):
        assert abs(sample_of(frame, rate) - frame / rate.per_second * RATE_HZ) <= Fraction(1, 2)


@st.composite
def edits(draw: st.DrawFn) -> list[tuple[int, ...]]:
    """Stretches of a take of ten seconds at 25 frames, and gaps."""
    out: list[tuple[int, ...]] = []
    for _ in range(draw(st.integers(1, 6))):
        start = draw(st.integers(0, 240))
        if draw(st.booleans()):
            out.append((0, start, start + draw(st.integers(1, 60))))
        else:
            out.append((0, start, draw(st.integers(1, 60)), 0))
    return out


@settings(max_examples=30, deadline=None)
@given(edits(), st.sampled_from(RATES))
def test_the_lesson_has_exactly_its_samples(parts: list[tuple[int, ...]], rate: FrameRate) -> None:
    lesson = timeline(rate, *parts)
    assert len(heard(lesson, source(TAKE))) == sample_of(lesson.frames, rate)


@settings(max_examples=30, deadline=None)
@given(edits(), st.sampled_from(RATES))
def test_away_from_the_joins_the_take_is_played_untouched(parts: list[tuple[int, ...]], rate: FrameRate) -> None:
    lesson = timeline(rate, *parts)
    sound = heard(lesson, source(TAKE))
    for edit in lesson.edits:
        if hasattr(edit, "source_in"):
            start, end = sample_of(edit.lesson_in, rate) + HALF, sample_of(edit.lesson_out, rate) - HALF
            shift = sample_of(edit.source_in, rate) - sample_of(edit.lesson_in, rate)
            if end > start:
                np.testing.assert_array_equal(sound[start:end], TAKE.cut(start + shift, end + shift))


@settings(max_examples=30, deadline=None)
@given(edits())
def test_no_join_jumps_more_than_the_take_itself(parts: list[tuple[int, ...]]) -> None:
    sound = heard(timeline(RATES[0], *parts), source(TAKE))
    own = float(np.abs(np.diff(TAKE.sound, axis=0)).max())
    # Two unlike sides of equal level add up to 3 dB in the middle of a crossfade.
    assert float(np.abs(np.diff(sound, axis=0)).max()) <= own * 2**0.5


def test_a_cut_without_a_jump_has_no_crossfade() -> None:
    lesson = timeline(RATES[0], (0, 30, 50), (0, 50, 70))
    np.testing.assert_array_equal(heard(lesson, source(TAKE)), TAKE.cut(30 * 1920, 70 * 1920))


def test_a_gap_is_room_tone_at_the_takes_own_level() -> None:
    lesson = timeline(RATES[0], (0, 20, 65), (0, 99, 100, 0), (0, 100, 140))
    gap = heard(lesson, source(TAKE))[sample_of(45, RATES[0]) + HALF : sample_of(145, RATES[0]) - HALF]
    assert float(np.sqrt((gap**2).mean())) == pytest.approx(1e-3, rel=0.1)
    assert float(np.abs(gap).max()) < 0.01
    assert np.count_nonzero(gap == 0) < 5


def test_the_tone_follows_the_room_where_it_grows_louder() -> None:
    loud = TAKE.sound.copy()
    loud[6 * RATE_HZ :] += room(4, 1.5e-3, seed=9)
    lesson = timeline(RATES[0], (0, 190, 192), (0, 192, 50, 0), (0, 195, 230))
    gap = heard(lesson, source(ArrayTrack(loud)))[2 * 1920 + HALF : 52 * 1920 - HALF]
    assert float(np.sqrt((gap**2).mean())) == pytest.approx(1.8e-3, rel=0.12)


def test_each_file_has_its_own_tone() -> None:
    louder = ArrayTrack(room(10, 1e-2, seed=4))
    lesson = timeline(RATES[0], (0, 0, 25), (1, 10, 50, 0), (1, 10, 40), files=2)
    sound = heard(lesson, source(TAKE, louder))
    assert float(np.sqrt((sound[30 * 1920 : 70 * 1920] ** 2).mean())) == pytest.approx(1e-2, rel=0.1)


def test_a_take_of_speech_and_digital_silence_gets_a_faint_hiss() -> None:
    silent = ArrayTrack(voice(10, SPOKEN, noise=0))
    gap = heard(timeline(RATES[0], (0, 0, 50, 0)), source(silent))
    level_db = 20 * np.log10(np.sqrt((gap**2).mean()))
    assert level_db == pytest.approx(-80, abs=0.5)


def test_a_take_that_never_pauses_gets_it_too() -> None:
    gap = heard(timeline(RATES[0], (0, 0, 50, 0)), source(TAKE, sounding=(Span(0, 10_000),)))
    assert np.count_nonzero(gap) > 0.99 * len(gap)


def test_a_click_in_a_pause_is_not_looped() -> None:
    clicked = TAKE.sound.copy()
    for at_s in (0.3, 3.2, 6.5, 9.5):
        clicked[round(at_s * RATE_HZ)] = 0.5
    gap = heard(timeline(RATES[0], (0, 0, 250, 0)), source(ArrayTrack(clicked)))
    assert float(np.abs(gap).max()) < 0.02


def test_one_microphone_is_heard_on_both_sides_of_a_stereo_lesson() -> None:
    stereo = ArrayTrack(room(10, 1e-2, channels=2))
    sound = heard(timeline(RATES[0], (0, 25, 60), (1, 0, 25), files=2), source(TAKE, stereo))
    assert sound.shape[1] == 2
    np.testing.assert_array_equal(sound[: 30 * 1920, 0], sound[: 30 * 1920, 1])
    assert not np.array_equal(sound[40 * 1920 :, 0], sound[40 * 1920 :, 1])


def test_a_cover_goes_on_over_a_join() -> None:
    lesson = timeline(RATES[0], (0, 20, 40), (0, 60, 90), covers=(Span(500, 1100),))
    sound = heard(lesson, source(TAKE))
    assert float(np.abs(sound[int(0.52 * RATE_HZ) : int(1.08 * RATE_HZ)]).max()) < 0.015
    bare = heard(timeline(RATES[0], (0, 20, 40), (0, 60, 90)), source(TAKE))
    assert float(np.abs(bare[int(0.52 * RATE_HZ) : int(1.08 * RATE_HZ)]).max()) > 0.05


def test_a_cover_is_room_tone_and_the_rest_is_untouched() -> None:
    lesson = timeline(RATES[0], (0, 20, 70), covers=(Span(500, 900),))
    sound = heard(lesson, source(TAKE))
    under = sound[int(0.52 * RATE_HZ) : int(0.88 * RATE_HZ)]
    assert float(np.abs(under).max()) < 0.01
    plain = heard(timeline(RATES[0], (0, 20, 70)), source(TAKE))
    np.testing.assert_array_equal(sound[: RATE_HZ // 2], plain[: RATE_HZ // 2])
    np.testing.assert_array_equal(sound[int(0.9 * RATE_HZ) :], plain[int(0.9 * RATE_HZ) :])
    assert float(np.abs(np.diff(sound, axis=0)).max()) <= float(np.abs(np.diff(TAKE.sound, axis=0)).max()) * 2**0.5
