from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.signal import butter, sosfilt

from lessoncut.errors import TakeError
from lessoncut.take.levels import FLOOR_DB, HOP_MS, Levels, quietest_ms, require_sound, room_tone_db
from lessoncut.take.measure import measure
from lessoncut.take.samples import RATE_HZ, Samples, cut
from lessoncut.times import Span
from tests.take.making import sine, sixteen_bits


def tone(dbfs_peak: float, hz: float, length_s: float = 1.0) -> Samples:
    return sine(dbfs_peak, hz, length_s, RATE_HZ)


def noise(rms_dbfs: float, length_s: float, seed: int = 1) -> Samples:
    size = round(length_s * RATE_HZ)
    return sixteen_bits(10 ** (rms_dbfs / 20) * np.random.default_rng(seed).standard_normal(size))


def levels(voice_db: list[float]) -> Levels:
    column = np.array(voice_db, dtype=np.float32)
    return Levels(column, column)


def settled(values: np.ndarray[tuple[int], np.dtype[np.float32]]) -> float:
    return float(np.median(values[20:-1]))


class TestMeasure:
    @pytest.mark.parametrize("peak_db", [0.0, -6.0206, -20.0, -40.0, -60.0])
    def test_a_sine_of_known_level(self, peak_db: float) -> None:
        """The RMS of a sine is its peak / sqrt(2): -3.01 dB. 1 kHz is in the voice band and out of the hiss band."""
        measured = measure(tone(peak_db, 1000))
        assert settled(measured.voice_db) == pytest.approx(peak_db - 3.0103, abs=0.1)
        assert settled(measured.hiss_db) < settled(measured.voice_db) - 25

    def test_hiss_is_in_both_bands(self) -> None:
        measured = measure(tone(-12, 5000))
        assert settled(measured.voice_db) == pytest.approx(-15.01, abs=0.1)
        assert settled(measured.hiss_db) == pytest.approx(-15.01, abs=0.1)

    @pytest.mark.parametrize(
        ("hz", "loss_db"),
        [
            # A Butterworth filter of order n loses 10 log10(1 + (edge / f)^2n) dB (S. Butterworth, 1930): order 4 here.
            (100, 3.0103),
            (50, 10 * math.log10(1 + 2**8)),
            (200, 10 * math.log10(1 + 2**-8)),
        ],
    )
    def test_rumble_is_filtered_as_the_textbook_says(self, hz: float, loss_db: float) -> None:
        measured = measure(tone(-6, hz, 3.0))
        assert settled(measured.voice_db[100:]) == pytest.approx(-9.0103 - loss_db, abs=0.15)

    def test_the_chunks_leave_no_trace(self) -> None:
        """Against one filter over everything and a loop over the frames; 65 s is more than two chunks."""
        samples = noise(-30, 65.003)
        sections = butter(4, 100, "highpass", fs=RATE_HZ, output="sos")
        filtered = sosfilt(sections, samples / 32768)
        naive = [10 * math.log10(np.mean(filtered[start : start + 160] ** 2)) for start in range(0, len(filtered), 160)]
        assert np.allclose(measure(samples).voice_db, naive, atol=1e-3)

    def test_a_last_frame_that_is_not_full_counts_what_it_has(self) -> None:
        measured = measure(tone(-20, 1000)[: 16000 - 80])
        assert len(measured.voice_db) == len(measured.hiss_db) == 100
        assert measured.voice_db[-1] == pytest.approx(-23.01, abs=0.2)
        assert measured.duration_ms == 1000

    def test_silence_is_the_floor(self) -> None:
        measured = measure(np.zeros(1600, np.int16))
        assert set(measured.voice_db) == set(measured.hiss_db) == {FLOOR_DB}

    def test_nothing_has_no_frames(self) -> None:
        assert measure(np.zeros(0, np.int16)).duration_ms == 0

    def test_a_burst_is_where_it_is(self) -> None:
        samples = np.zeros(RATE_HZ, np.int16)
        samples[8000:8160] = tone(-6, 2000)[:160]
        assert int(np.argmax(measure(samples).voice_db)) * HOP_MS == 500

    def test_progress(self) -> None:
        said: list[float] = []
        measure(np.zeros(RATE_HZ * 70, np.int16), said.append)
        assert said == sorted(said)
        assert len(said) == 3
        assert said[-1] == 1.0


class TestRoomTone:
    @pytest.mark.parametrize("room_db", [-75.0, -55.0, -40.0])
    @pytest.mark.parametrize("spoken_share", [0.3, 0.6, 0.85])
    def test_the_room_between_the_words(self, room_db: float, spoken_share: float) -> None:
        room = noise(room_db, 40)
        for second in range(40):
            spoken = round(spoken_share * RATE_HZ)
            room[second * RATE_HZ :][:spoken] += tone(-20, 300, spoken_share)[:spoken]
        # The 100 Hz high-pass takes 100 / 8000 of white noise, 0.05 dB.
        assert room_tone_db(measure(room)) == pytest.approx(room_db, abs=1.5)

    def test_digital_silence_is_not_the_room(self) -> None:
        sound = np.concatenate([np.zeros(RATE_HZ * 20, np.int16), noise(-50, 10), tone(-20, 300, 10)])
        assert room_tone_db(measure(sound)) == pytest.approx(-50, abs=1.5)

    @pytest.mark.parametrize("frames", [0, 1, 300])
    def test_only_digital_silence(self, frames: int) -> None:
        assert room_tone_db(levels([FLOOR_DB] * frames)) == FLOOR_DB

    @pytest.mark.parametrize("frames", [1, 2, 5])
    def test_a_take_shorter_than_the_window(self, frames: int) -> None:
        assert room_tone_db(levels([-60.0] * frames)) == pytest.approx(-60)


def quietest_naively(voice_db: list[float], span: Span) -> set[int]:
    """Every place of the least mean power, by looking at each in turn."""
    places = {}
    for frame in range(len(voice_db) - 2):
        start = frame * 10
        if span.start_ms <= start and start + 30 <= span.end_ms:
            places[start + 15] = sum(10 ** (level / 10) for level in voice_db[frame : frame + 3])
    least = min(places.values())
    return {place for place, power in places.items() if power <= least * 1.0001}


class TestQuietest:
    def test_a_dip(self) -> None:
        voice = [-30.0] * 100
        voice[60:63] = [-70.0] * 3
        assert quietest_ms(levels(voice), Span(0, 1000)) == 615

    def test_one_quiet_frame_is_less_than_three(self) -> None:
        """A zero crossing of a low voice is no pause."""
        voice = [-20.0] * 100
        voice[20] = -90.0
        voice[70:73] = [-40.0] * 3
        assert quietest_ms(levels(voice), Span(0, 1000)) == 715

    def test_only_inside_the_span(self) -> None:
        voice = [-30.0] * 100
        voice[10:13] = [-90.0] * 3
        voice[50:53] = [-60.0] * 3
        assert quietest_ms(levels(voice), Span(200, 1000)) == 515
        assert quietest_ms(levels(voice), Span(105, 300)) != 115

    def test_of_equals_the_nearest_to_the_middle(self) -> None:
        assert abs(quietest_ms(levels([-50.0] * 100), Span(200, 600)) - 400) <= 5

    @pytest.mark.parametrize("span", [Span(100, 120), Span(500, 500), Span(5000, 6000)])
    def test_where_there_is_no_room(self, span: Span) -> None:
        assert quietest_ms(levels([-50.0] * 100), span) == span.middle_ms

    @settings(max_examples=200)
    @given(
        st.lists(st.integers(-100, -10).map(float), min_size=5, max_size=60), st.integers(0, 300), st.integers(30, 600)
    )
    def test_against_looking_everywhere(self, voice: list[float], start_ms: int, length_ms: int) -> None:
        span = Span(start_ms, min(start_ms + length_ms, len(voice) * 10)) if start_ms < len(voice) * 10 else Span(0, 50)
        if span.end_ms // 10 - -(-span.start_ms // 10) < 3:
            assert quietest_ms(levels(voice), span) == span.middle_ms
            return
        found = quietest_ms(levels(voice), span)
        assert found in quietest_naively(voice, span)
        assert span.contains(found)


class TestRequireSound:
    def test_digital_silence(self) -> None:
        with pytest.raises(TakeError, match="silence and nothing else"):
            require_sound(measure(np.zeros(RATE_HZ, np.int16)))

    def test_one_bit_of_dither_is_silence(self) -> None:
        dither = np.random.default_rng(2).integers(-1, 2, RATE_HZ).astype(np.int16) * (np.arange(RATE_HZ) % 7 == 0)
        with pytest.raises(TakeError, match="silence and nothing else"):
            require_sound(measure(dither.astype(np.int16)))

    def test_faint_noise_is_no_voice(self) -> None:
        with pytest.raises(TakeError, match="no voice was recorded") as caught:
            require_sound(measure(noise(-80, 5)))
        assert caught.value.exit_code == 2

    def test_a_quiet_voice_will_do(self) -> None:
        sound = noise(-80, 5)
        sound[RATE_HZ : 2 * RATE_HZ] += tone(-50, 200)
        require_sound(measure(sound))

    def test_no_frames(self) -> None:
        with pytest.raises(TakeError):
            require_sound(levels([]))


def test_cut_takes_what_lies_inside() -> None:
    samples = np.arange(3200, dtype=np.int16)
    assert np.array_equal(cut(samples, Span(10, 20)), np.arange(160, 320))
    assert np.array_equal(cut(samples, Span(-50, 1)), np.arange(16))
    assert len(cut(samples, Span(190, 500))) == 160
    assert len(cut(samples, Span(-20, -10))) == len(cut(samples, Span(900, 950))) == 0
    assert np.shares_memory(cut(samples, Span(10, 20)), samples)
