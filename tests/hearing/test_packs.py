from __future__ import annotations

from itertools import accumulate, pairwise

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from lessoncut.hearing.packs import CONTEXT_MS, FULL_MS, MOST_SPEECH_MS, Pack, filled, pieces_of, split
from lessoncut.take.levels import HOP_MS, Levels
from lessoncut.take.samples import PER_MS
from lessoncut.times import Span


def _levels(duration_ms: int) -> Levels:
    flat = np.full(duration_ms // HOP_MS, -30, np.float32)
    return Levels(flat, flat)


@st.composite
def speech_rows(draw: st.DrawFn) -> tuple[tuple[Span, ...], int]:
    """Speech in order with pauses of at least 250 ms, and how long the take is."""
    at, spans = draw(st.integers(0, 5000)), []
    for _ in range(draw(st.integers(0, 12))):
        length = draw(st.integers(60, 40_000))
        spans.append(Span(at, at + length))
        at += length + draw(st.integers(250, 60_000))
    return tuple(spans), (at + 1000) // HOP_MS * HOP_MS


@given(speech_rows())
def test_all_speech_is_packed_once_with_its_context(row: tuple[tuple[Span, ...], int]) -> None:
    speech, duration_ms = row
    pieces = pieces_of(speech, _levels(duration_ms))
    assert all(a.end_ms <= b.start_ms for a, b in pairwise(pieces))
    for span in speech:
        assert sum(span.overlap_ms(piece) for piece in pieces) == span.length_ms
    for before, span in pairwise(speech):
        own = min(piece.start_ms for piece in pieces if piece.overlap_ms(span))
        assert span.start_ms - own == min(CONTEXT_MS, span.start_ms - (before.end_ms + span.start_ms) // 2)
    for pack in filled(pieces):
        assert pack.length_ms <= max(FULL_MS, MOST_SPEECH_MS)


@given(speech_rows(), st.data())
def test_pack_time_maps_back_to_the_take(row: tuple[tuple[Span, ...], int], data: st.DataObject) -> None:
    speech, duration_ms = row
    for pack in filled(pieces_of(speech, _levels(duration_ms))):
        begins = [0, *accumulate(piece.length_ms for piece in pack.pieces)]
        piece = data.draw(st.sampled_from(range(len(pack.pieces))))
        start = data.draw(st.integers(begins[piece], begins[piece + 1] - 1))
        end = data.draw(st.integers(start + 1, begins[piece + 1]))
        found = pack.take_span(Span(start, end))
        assert found.length_ms == end - start
        assert found.start_ms - pack.pieces[piece].start_ms == start - begins[piece]


def test_a_span_across_a_joint_lands_where_most_of_it_is() -> None:
    pack = Pack((Span(1000, 2000), Span(5000, 6000)))
    assert pack.take_span(Span(900, 1600)) == Span(5000, 5600)
    assert pack.take_span(Span(400, 1300)) == Span(1400, 2000)
    assert pack.take_span(Span(2500, 2600)) == Span(6000, 6000)


def test_a_stretch_without_a_pause_is_split_where_it_is_quietest() -> None:
    levels = _levels(40_000)
    levels.voice_db[1480:1490] = -45
    first, second = split(Span(0, 30_000), levels)
    assert 14_800 <= first.end_ms == second.start_ms < 14_900
    assert (first.start_ms, second.end_ms) == (0, 30_000)
    assert split(Span(0, MOST_SPEECH_MS), levels) == (Span(0, MOST_SPEECH_MS),)


def test_the_sound_is_that_of_the_pieces_faded_at_the_joints() -> None:
    samples = np.full(4000 * PER_MS, 16384, np.int16)
    pack = Pack((Span(1000, 1500), Span(3000, 3200)))
    sound = pack.sound(samples)
    assert len(sound) == 700 * PER_MS == pack.length_ms * PER_MS
    assert sound[0] == sound[500 * PER_MS] == 0.0
    assert sound[250 * PER_MS] == 0.5
    assert np.abs(np.diff(sound)).max() < 0.01
