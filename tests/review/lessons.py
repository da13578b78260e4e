"""A lesson folder with a sound of its own, made by hand: the lighthouse lesson, with a buzz for every word."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import soundfile

from lessoncut.hearing.told import told
from lessoncut.matching.findings import find
from lessoncut.script.records import Script
from lessoncut.store import LessonFolder
from lessoncut.take.levels import measure
from lessoncut.take.records import SoundTrack, Take, TakeFile
from lessoncut.take.samples import PER_MS, RATE_HZ, Samples
from lessoncut.workflow.opened import with_decisions, write_analysis
from lessoncut.workflow.records import FOUND, HEARING, Found, KnownTake, Stamp
from lessoncut.workflow.sound import Sound
from tests.workflow.lessons import HEARD, match, script

LENGTH_MS = 37_000
HOSTILE = (
    '<img src=x onerror="document.title=1"><script>document.title=2</script> "quoted" & \'single\'',
    "a" * 10_000,
    "\u202eright to left \u05e9\u05dc\u05d5\u05dd \u0645\u0631\u062d\u0628\u0627",
    "javascript:alert(1)",
)


def sound() -> Samples:
    """Room noise, a buzz of falling pitch for every word, and a knock."""
    rng = np.random.default_rng(7)
    wave = rng.standard_normal(LENGTH_MS * PER_MS) * 40
    for reading in match(script()).readings:
        for word in reading.words:
            length = (word.span.length_ms - 30) * PER_MS
            at = np.arange(length) / RATE_HZ
            pitch = 2 * np.pi * (180 * at - 40 * at**2)
            buzz = sum(np.sin(n * pitch) / n for n in range(1, 9))
            wave[word.span.start_ms * PER_MS :][:length] += 5200 * np.hanning(length) * buzz
    for start_ms, end_ms, loud in ((24_500, 24_700, 9000), (31_000, 32_500, 2500)):
        length = (end_ms - start_ms) * PER_MS
        wave[start_ms * PER_MS :][:length] += rng.standard_normal(length) * loud * np.hanning(length)
    return np.clip(wave, -32_000, 32_000).astype(np.int16)


def reviewed(at: Path, spoken: Script | None = None) -> LessonFolder:
    """A lesson folder as an analysis leaves it, with its take beside it."""
    samples = sound()
    recording = at.parent / "take.wav"
    recording.parent.mkdir(parents=True, exist_ok=True)
    soundfile.write(recording, samples, RATE_HZ, subtype="PCM_16")
    status = recording.stat()
    file = TakeFile(str(recording), "1" * 64, status.st_size, 0, LENGTH_MS, SoundTrack("pcm_s16le", RATE_HZ, 1), None)
    followed = match(script())
    hearing = told(HEARD, duration_s=LENGTH_MS // 1000)
    spoken = spoken or script()
    found = Found(
        known=KnownTake(Take((file,)), (Stamp(str(recording), status.st_size, status.st_mtime_ns),)),
        pick_up_paths=(),
        script_path=str(recording.with_suffix(".md")),
        script=spoken,
        hearing_key="by hand",
        language="en",
        engine="told",
        match=followed,
        findings=find(spoken, hearing, followed),
        remarks=(),
    )
    folder = LessonFolder.found_or_made(at)
    folder.write(FOUND, "by hand", found)
    folder.write(HEARING, "by hand", hearing)
    own = Sound(folder, found.take)
    np.save(folder.sound_path(own.key), samples)
    levels = measure(samples)
    np.savez(folder.levels_path(own.key), voice_db=levels.voice_db, hiss_db=levels.hiss_db)
    write_analysis(with_decisions(folder, found))
    return folder


def hostile_script() -> Script:
    """The lighthouse script with texts that want to be something else than text."""
    plain = script()
    lines = tuple(
        replace(line, text=text) for line, text in zip(plain.lines, (*HOSTILE, plain.lines[4].text), strict=True)
    )
    sections = (replace(plain.sections[0], title="<b>Welcome</b>"), *plain.sections[1:])
    return Script("<script>document.title=3</script>", sections, lines)
