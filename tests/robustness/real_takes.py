"""Takes that the project's own recogniser and aligner have to hear."""

from __future__ import annotations

import json
from collections import Counter
from itertools import count
from pathlib import Path

import av
import numpy as np
import soundfile
from numpy.typing import NDArray

from lessoncut.take.samples import RATE_HZ
from tests.robustness.scene import Scene
from tests.robustness.table import Case

FERRY = Path(__file__).parents[2] / "sample_media" / "ferry"
UNDER_SPEECH_DB = 20.0
"""How far under the voice the music is: as loud as music that is meant to be heard behind a talk; common practice, no
source."""
CHORDS = ((0, 4, 7, 12), (9, 12, 16, 21), (5, 9, 12, 17), (7, 11, 14, 19))
"""In half-tones over the key note."""
KEY_NOTE_HZ = 220.0
NOTE_S, RING_S = 0.3, 0.9
MOST_FOUND_TOO_MUCH = 4
NEAR_S = 0.5

Sound = NDArray[np.float64]


def music(length: int) -> Sound:
    """Broken chords over held ones, each note dying away; shape (length,)."""
    out = np.zeros(length)
    ringing = np.arange(round(RING_S * RATE_HZ)) / RATE_HZ
    for number, at in zip(count(), range(0, length, round(NOTE_S * RATE_HZ)), strict=False):
        chord = CHORDS[number // 8 % len(CHORDS)]
        held = [(half_tones - 12, 0.6) for half_tones in chord] if number % 8 == 0 else []
        for half_tones, gain in ((chord[number % len(chord)], 1.0), *held):
            hz = KEY_NOTE_HZ * 2 ** (half_tones / 12)
            wave = sum(np.sin(2 * np.pi * hz * part * ringing) / part for part in (1, 2, 3))
            out[at : at + len(ringing)] += (gain * np.exp(-3 * ringing) * wave)[: length - at]
    return out


def accompanied(scene: Scene) -> None:
    """The sample lesson with music from its first second to its last."""
    voice = _sound_of(FERRY / "ferry.mp4")
    behind = music(len(voice))
    frames = voice[: len(voice) // 160 * 160].reshape(-1, 160)
    heights = np.sqrt((frames**2).mean(axis=1))
    spoken = frames[heights > np.percentile(heights, 95) / 10]
    gain = np.sqrt((spoken**2).mean() / (behind**2).mean()) * 10 ** (-UNDER_SPEECH_DB / 20)
    soundfile.write(scene.take, np.clip(voice + gain * behind, -1, 1), RATE_HZ, subtype="PCM_16")
    scene.script.write_bytes((FERRY / "script.md").read_bytes())
    scene.deaf = True


def _sound_of(take: Path) -> Sound:
    """Decoded by PyAV."""
    resampler = av.AudioResampler(format="flt", layout="mono", rate=RATE_HZ)
    with av.open(str(take)) as opened:
        frames = [piece for frame in opened.decode(audio=0) for piece in resampler.resample(frame)]
    pieces = [piece.to_ndarray()[0] for piece in (*frames, *resampler.resample(None))]
    return np.concatenate(pieces).astype(np.float64)


def all_is_found(scene: Scene) -> None:
    """Every line is kept where it was said, and all that was put into the sample is found. The music may cost the
    teacher a key or two: for a note that is taken for a sound, for a word that it changes."""
    truth = json.loads((FERRY / "truth.json").read_text(encoding="utf-8"))
    kept, wanted_kept = (
        sorted((one["line"], one["pass"] or "", one["start_s"]) for one in analysis["readings"] if one["kept"])
        for analysis in (scene.analysis, truth)
    )
    assert [one[:2] for one in kept] == [one[:2] for one in wanted_kept]
    assert max(abs(one[2] - wanted[2]) for one, wanted in zip(kept, wanted_kept, strict=True)) < NEAR_S
    found, wanted = (Counter(map(_what, analysis["findings"])) for analysis in (scene.analysis, truth))
    assert not wanted - found
    assert (found - wanted).total() <= MOST_FOUND_TOO_MUCH, found - wanted


def _what(finding: dict[str, object]) -> tuple[object, object, object]:
    return finding["kind"], finding["line"], finding["pass"]


CASES = (Case("music under speech", accompanied, 0, r"misread", all_is_found, leaves="lesson", slow=True),)
