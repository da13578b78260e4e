"""A lesson folder made by hand, without a recogniser: a scenario of our own."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np

from lessoncut import wording
from lessoncut.hearing.told import told
from lessoncut.matching.findings import find
from lessoncut.matching.records import Aside, Match, Pass, PassKind, Reading, ReadWord
from lessoncut.script.records import Line, Script, Section
from lessoncut.store import LessonFolder
from lessoncut.take.probe import probe
from lessoncut.take.records import Picture, SoundTrack, Take, TakeFile
from lessoncut.times import FrameRate, Span
from lessoncut.workflow.opened import with_decisions, write_analysis
from lessoncut.workflow.records import FOUND, Found, KnownTake, Stamp
from lessoncut.workflow.sound import Sound

TEXTS = (
    ("Welcome", False, ("Hello, and welcome to the lighthouse.",)),
    (
        "The lamp room",
        True,
        ("The lamp turns every seven seconds.", "Wind and waves never stop.", "Vera climbs the winding stairs."),
    ),
    ("Goodbye", False, ("See you next week.",)),
)

HEARD = """
  0.5  hello and welcome to the lighthouse          2.5
  4.0  the lamp turns every seven seconds           6.0
  6.5  wind and waves                               7.3
  8.0  wind and waves never stop                    9.6
 10.0  vera climbs the winding stairs              12.0
 14.0  the lamp turns every seven seconds          16.0
 19.0  the lamp turns every seven seconds          21.0
 24.5  (knock)                                     24.7
 26.0  vera climbs the winding stairs              28.0
 31.0  oh the kettle is on                         32.5
 34.0  see you next week                           35.2
"""

READ = (
    ("L001", None, 500, 2500),
    ("L002", "P1", 4000, 6000),
    ("L003", "P1", 6500, 7300),
    ("L003", "P1", 8000, 9600),
    ("L004", "P1", 10_000, 12_000),
    ("L002", "P2", 14_000, 16_000),
    ("L002", "P2", 19_000, 21_000),
    ("L004", "P2", 26_000, 28_000),
    ("L005", None, 34_000, 35_200),
)
"""Line, pass, start and end of every reading; the first of L003 is broken off, L002 is read twice in the repeat pass,
and L003 is missing there."""

PASSES: tuple[tuple[str, PassKind, int, int], ...] = (("P1", "model", 4000, 12_000), ("P2", "repeat", 14_000, 28_000))


def script() -> Script:
    sections = tuple(Section(title, passage) for title, passage, _ in TEXTS)
    lines = [Line("", text, section, passage) for section, (_, passage, texts) in enumerate(TEXTS) for text in texts]
    numbered = (replace(line, id=f"L{number:03d}") for number, line in enumerate(lines, start=1))
    return Script("The lighthouse", sections, tuple(numbered))


def match(of: Script) -> Match:
    last = {(line_id, pass_id): start_ms for line_id, pass_id, start_ms, _ in READ}
    readings = tuple(
        _reading(
            f"R{number:03d}", of.line(line_id), pass_id, Span(start_ms, end_ms), last[line_id, pass_id] == start_ms
        )
        for number, (line_id, pass_id, start_ms, end_ms) in enumerate(READ, start=1)
    )
    return Match(
        tuple(Pass(name, kind, Span(start_ms, end_ms)) for name, kind, start_ms, end_ms in PASSES),
        readings,
        (Aside(Span(31_000, 32_500), ("oh", "the", "kettle", "is", "on")),),
        1.0,
    )


def _reading(name: str, line: Line, pass_id: str | None, span: Span, kept: bool) -> Reading:
    words = wording.spoken(line.text)
    broken_off = span.length_ms < 1000
    words = words[: len(words) // 2] if broken_off else words
    each = span.length_ms // len(words)
    return Reading(
        id=name,
        line_id=line.id,
        pass_id=pass_id,
        kind="partial" if broken_off else "full",
        kept=kept,
        span=span,
        cut=span.padded(60, 90),
        words=tuple(
            ReadWord(word, Span(span.start_ms + at * each, span.start_ms + (at + 1) * each), word)
            for at, word in enumerate(words)
        ),
        changes=(),
        confidence=0.95,
    )


def take(path: Path, duration_ms: int = 37_000) -> Take:
    picture = Picture(640, 360, 0, FrameRate(Fraction(25)), True, "h264", "yuv420p", False)
    file = TakeFile(str(path), "0" * 64, path.stat().st_size, 0, duration_ms, SoundTrack("aac", 48_000, 1), picture)
    return Take((file,))


def made_lesson(at: Path, take_path: Path) -> LessonFolder:
    """A lesson folder as an analysis leaves it; the take is a file of a few bytes that nothing decodes."""
    take_path.write_bytes(b"not really a recording")
    status = take_path.stat()
    stamp = Stamp(str(take_path), status.st_size, status.st_mtime_ns)
    spoken = script()
    followed = match(spoken)
    hearing = told(HEARD, duration_s=37)
    found = Found(
        known=KnownTake(take(take_path), (stamp,)),
        pick_up_paths=(),
        script_path=str(take_path.with_suffix(".md")),
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
    sound = Sound(folder, found.take)
    quiet = np.full(3700, -60, np.float32)
    np.savez(folder.levels_path(sound.key), voice_db=quiet, hiss_db=quiet)
    np.save(folder.sound_path(sound.key), np.zeros(37_000 * 16, np.int16))
    write_analysis(with_decisions(folder, found))
    return folder


def playable_lesson(at: Path, take_path: Path) -> LessonFolder:
    """The same lesson, of a take that is really there and lasts as long or longer; its levels say that it is quiet."""
    folder = made_lesson(at, at.with_suffix(".told"))
    recorded, status = probe([take_path]), take_path.stat()
    found = folder.read(FOUND)
    assert found
    known = KnownTake(recorded, (Stamp(str(take_path), status.st_size, status.st_mtime_ns),))
    folder.write(FOUND, "by hand", replace(found, known=known))
    sound, quiet = Sound(folder, recorded), np.full(recorded.duration_ms // 10, -60, np.float32)
    np.savez(folder.levels_path(sound.key), voice_db=quiet, hiss_db=quiet)
    np.save(folder.sound_path(sound.key), np.zeros(recorded.duration_ms * 16, np.int16))
    return folder
