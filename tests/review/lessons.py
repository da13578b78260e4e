"""A lesson folder with a sound of its own, made by hand: the lighthouse lesson, with a buzz for every word."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import soundfile

from lessoncut.hearing.records import Hearing
from lessoncut.hearing.told import told
from lessoncut.matching.findings import find
from lessoncut.matching.records import Match, Pass, Reading, ReadWord
from lessoncut.script.records import Line, Script, Section
from lessoncut.store import LessonFolder
from lessoncut.take.measure import measure
from lessoncut.take.records import SoundTrack, Take, TakeFile
from lessoncut.take.samples import PER_MS, RATE_HZ, Samples
from lessoncut.times import Span
from lessoncut.wording import spoken as spoken_words
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
    return _written(at, sound(), spoken or script(), match(script()), told(HEARD, duration_s=LENGTH_MS // 1000))


def _written(at: Path, samples: Samples, spoken: Script, followed: Match, hearing: Hearing) -> LessonFolder:
    recording = at.parent / "take.wav"
    recording.parent.mkdir(parents=True, exist_ok=True)
    soundfile.write(recording, samples, RATE_HZ, subtype="PCM_16")
    status = recording.stat()
    length_ms = len(samples) // PER_MS
    file = TakeFile(str(recording), "1" * 64, status.st_size, 0, length_ms, SoundTrack("pcm_s16le", RATE_HZ, 1), None)
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


def long_lesson(at: Path, lines: int = 200, hours: int = 3) -> LessonFolder:
    """A take of ``hours`` in which a passage of ``lines`` is read twice; one line in ten is read again."""
    texts = tuple(f"Line {number} of the long night at the lighthouse, said slowly." for number in range(1, lines + 1))
    spoken = Script(
        "A long night",
        (Section("The night", True),),
        tuple(Line(f"L{number:03d}", text, 0, True) for number, text in enumerate(texts, start=1)),
    )
    length_ms = hours * 3_600_000
    step_ms = length_ms // (2 * lines + 2 * lines // 10 + 2)
    readings: list[Reading] = []
    passes = []
    at_ms = 1000
    for name, kind in (("P1", "model"), ("P2", "repeat")):
        first_ms = at_ms
        for number, line in enumerate(spoken.lines):
            for again in range(2 if number % 10 == 0 else 1):
                span = Span(at_ms, at_ms + 4000)
                kept = again == (1 if number % 10 == 0 else 0)
                words = tuple(
                    ReadWord(word, Span(at_ms + 300 * n, at_ms + 300 * n + 250), word)
                    for n, word in enumerate(spoken_words(line.text))
                )
                identity = f"R{len(readings) + 1:04d}"
                readings.append(
                    Reading(identity, line.id, name, "full", kept, span, span.padded(60, 90), words, (), 0.9)
                )
                at_ms += step_ms
        passes.append(Pass(name, kind, Span(first_ms, at_ms - step_ms + 4000)))  # type: ignore[arg-type]
    followed = Match(tuple(passes), tuple(readings), (), 1.0)
    samples = np.tile(np.random.default_rng(3).standard_normal(RATE_HZ).astype(np.float32), hours * 3600) * 900
    return _written(
        at, samples.astype(np.int16), spoken, followed, Hearing(length_ms, "en", "told", (), (), (), -60, -20)
    )
