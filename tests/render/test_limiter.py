"""The limiter keeps true peaks under the ceiling and leaves the rest alone; ffmpeg's meter is the second opinion."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lessoncut.render.limiter import MARGIN, limited
from lessoncut.render.loudness import measure
from lessoncut.render.samples import RATE_HZ, Chunk
from tests.render.test_loudness import ebur128, tone

CEILING = 10 ** (-1.5 / 20)


def speechlike(seed: int = 3, peak: float = 1.6, channels: int = 2) -> Chunk:
    """Bursts of a buzz with noise, their peaks well over full scale."""
    noise = np.random.default_rng(seed)
    at = np.arange(2 * RATE_HZ) / RATE_HZ
    buzz = sum(np.sin(2 * np.pi * 120 * k * at + k) / k for k in range(1, 30))
    envelope = np.clip(np.sin(2 * np.pi * 1.5 * at), 0, 1) ** 2
    sound = np.asarray(buzz * envelope + 0.01 * noise.standard_normal(len(at)))
    sound = np.repeat((sound * peak / np.abs(sound).max())[:, None], channels, axis=1)
    return sound.astype(np.float32)


def whole(sound: Chunk, ceiling: float = CEILING) -> Chunk:
    return limited(sound, 0, 0, ceiling).sound


def test_the_true_peak_stays_under_the_ceiling_by_both_meters() -> None:
    done = whole(speechlike())
    assert measure([done]).true_peak_dbtp <= -1.5
    assert ebur128(done)["Peak"] <= -1.5 + 0.05


@pytest.mark.parametrize("phase_deg", [0.0, 45.0])
def test_peaks_between_the_samples_count(phase_deg: float) -> None:
    # EBU Tech 3341 signal 19: at a quarter of the sampling rate the samples miss up to 3 dB of the peak.
    done = whole(tone(3.0, 0.5, RATE_HZ / 4, phase_deg))
    # The same document's tolerance for a meter is +0.2 dB; here it sees the tone's abrupt ends.
    assert measure([done]).true_peak_dbtp <= -1.3


def test_what_is_far_from_a_peak_is_left_alone() -> None:
    sound = 0.1 * speechlike(peak=1.0)
    sound[RATE_HZ] = 2.0
    done = whole(sound)
    np.testing.assert_array_equal(done[: RATE_HZ - MARGIN], sound[: RATE_HZ - MARGIN])
    np.testing.assert_array_equal(done[RATE_HZ + MARGIN :], sound[RATE_HZ + MARGIN :])
    assert abs(done[RATE_HZ, 0]) <= CEILING


def test_quiet_sound_comes_back_as_it_is() -> None:
    sound = speechlike(peak=0.3)
    result = limited(sound, 0, 0, CEILING)
    assert result.lowest_gain == 1.0
    np.testing.assert_array_equal(result.sound, sound)


def test_the_lowest_gain_is_what_the_highest_peak_needed() -> None:
    assert 20 * np.log10(limited(speechlike(peak=1.6), 0, 0, CEILING).lowest_gain) == pytest.approx(-5.6, abs=0.3)


@settings(max_examples=12, deadline=None)
@given(st.integers(0, 5), st.lists(st.integers(1, 2 * RATE_HZ), min_size=1, max_size=4))
def test_blocks_fit_together_without_a_seam(seed: int, cuts: list[int]) -> None:
    sound = speechlike(seed)
    edges = [0, *sorted(set(cuts)), len(sound)]
    parts = []
    for start, end in pairwise(edges):
        before, after = min(MARGIN, start), min(MARGIN, len(sound) - end)
        parts.append(limited(sound[start - before : end + after], before, after, CEILING).sound)
    np.testing.assert_allclose(np.concatenate(parts), whole(sound), atol=2e-5)
