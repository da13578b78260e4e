from __future__ import annotations

import json
from pathlib import Path

import av
import numpy as np
import pytest
import soundfile
from swift_f0 import SwiftF0

from lessoncut.hearing.pitch import (
    HOP_MS,
    WIDE,
    Floats,
    median_hz,
    pitch,
    range_of,
    semitones,
    smoothed,
    track,
    voiced_runs,
)

PUBLISHED = sorted((Path(__file__).parents[1] / "teaching" / "published").glob("*.flac"))
SAMPLE = Path(__file__).parents[2] / "sample_media" / "ferry"
RATE = 16000


def _voice(hz: Floats) -> Floats:
    """A buzz with falling harmonics whose fundamental follows ``hz`` (one value a sample)."""
    phase = 2 * np.pi * np.cumsum(hz) / RATE
    harmonics = np.arange(1, 9)[:, None]
    buzz: Floats = 0.1 * (np.sin(harmonics * phase) / harmonics).sum(axis=0)
    return buzz


def test_a_gliding_tone_is_followed_within_one_percent() -> None:
    truth = np.linspace(100, 300, 2 * RATE)
    found = track(_voice(truth), RATE)
    at = ((np.arange(len(found)) + 0.5) * HOP_MS / 1000 * RATE).astype(int)
    inner = slice(5, -5)
    assert np.isfinite(found[inner]).all()
    assert np.abs(found[inner] / truth[at][inner] - 1).max() < 0.01


@pytest.mark.parametrize("hz", [75.0, 110.0, 196.0, 262.0, 430.0])
def test_steady_tones_are_found_in_the_right_octave(hz: float) -> None:
    found = median_hz(track(_voice(np.full(RATE, hz)), RATE))
    assert found == pytest.approx(hz, rel=0.003)


def test_hiss_and_silence_have_no_pitch() -> None:
    hiss = np.random.default_rng(1).normal(0, 0.1, RATE)
    assert np.isfinite(track(hiss, RATE)).mean() < 0.02
    assert not np.isfinite(track(np.zeros(RATE), RATE)).any()
    assert len(track(np.zeros(10), RATE)) == 0


def test_a_pause_between_two_tones_is_a_gap() -> None:
    tone = _voice(np.full(RATE // 2, 180.0))
    found = pitch(np.concatenate([tone, np.zeros(RATE // 2), tone]), RATE)
    runs = voiced_runs(found)
    assert len(runs) == 2
    assert runs[0][1] * HOP_MS == pytest.approx(500, abs=40)
    assert runs[1][0] * HOP_MS == pytest.approx(1000, abs=40)


def test_an_octave_slip_is_undone_and_a_click_dropped() -> None:
    hz = np.concatenate([np.full(20, 200.0), [np.nan], np.full(6, 401.0), [np.nan], np.full(2, 200.0), [np.nan] * 2])
    out = smoothed(hz)
    assert out[21:27] == pytest.approx(np.full(6, 200.5))
    assert np.isnan(out[28:]).all()


def test_an_octave_slip_inside_a_voiced_stretch_is_undone() -> None:
    hz = np.concatenate([np.linspace(180, 200, 20), np.full(4, 400.0), [np.nan], np.full(4, 99.0)])
    out = smoothed(hz)
    assert out[20:24] == pytest.approx(np.full(4, 200.0))
    assert out[25:] == pytest.approx(np.full(4, 198.0))


def test_semitones_are_twelve_to_the_octave() -> None:
    assert semitones(np.array([100.0, 200.0, 50.0]), 100.0) == pytest.approx([0.0, 12.0, -12.0])


def test_too_little_voice_leaves_the_wide_range() -> None:
    assert range_of(np.array([np.nan, 100.0])) == WIDE


def _second(samples: Floats, rate: int, frames: int) -> Floats:
    """The pitch by swift-f0, a neural tracker, at the middle of our frames; NaN where it is not sure of a voice."""
    theirs = SwiftF0(threads=1).detect(samples.astype(np.float32), rate, WIDE.low_hz, WIDE.high_hz)
    at_s = (np.arange(frames) + 0.5) * HOP_MS / 1000
    nearest = np.clip(np.round(at_s / 0.016).astype(int), 0, len(theirs.pitch_hz) - 1)
    found: Floats = np.where(theirs.confidence[nearest] >= 0.5, theirs.pitch_hz[nearest], np.nan)
    return found


@pytest.mark.parametrize("path", PUBLISHED, ids=lambda path: path.stem)
def test_published_speech_agrees_with_an_independent_tracker(path: Path) -> None:
    """Gross errors (over 20%) against the second tracker in at most 3% of frames both call voiced.

    The 20% limit is the usual "gross pitch error" (Rabiner et al. 1976 counted by milliseconds; from memory).
    """
    samples, rate = soundfile.read(path)
    ours = pitch(samples, rate)
    second = _second(samples, rate, len(ours))
    both = np.isfinite(ours) & np.isfinite(second)
    assert both.mean() > 0.35
    gross = np.abs(ours[both] / second[both] - 1) > 0.2
    assert gross.mean() <= 0.03
    assert (np.isfinite(ours) == np.isfinite(second)).mean() > 0.85


@pytest.mark.slow
def test_the_sample_agrees_with_an_independent_tracker() -> None:
    """The same on the passage of the sample lesson, in both passes."""
    truth = json.loads((SAMPLE / "truth.json").read_text(encoding="utf-8"))
    with av.open(str(SAMPLE / "ferry.mp4")) as container:
        to_mono = av.AudioResampler("flt", "mono", RATE)
        frames = [out for frame in container.decode(audio=0) for out in to_mono.resample(frame)]
    sound = np.concatenate([frame.to_ndarray()[0] for frame in frames]).astype(np.float64)
    voiced = gross = 0
    for reading in truth["readings"]:
        if reading["pass"] is None or reading["kind"] != "full":
            continue
        said = sound[int(reading["start_s"] * RATE) : int(reading["end_s"] * RATE)]
        ours = pitch(said, RATE)
        second = _second(said, RATE, len(ours))
        both = np.isfinite(ours) & np.isfinite(second)
        voiced += int(both.sum())
        gross += int((np.abs(ours[both] / second[both] - 1) > 0.2).sum())
    assert voiced > 2000
    assert gross / voiced <= 0.03
