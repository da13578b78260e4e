"""Parts of the lesson as sound alone."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np

from lessoncut.progress import Progress, no_progress, shares
from lessoncut.render.bench import Bench
from lessoncut.render.coding import AAC, FLAC, MP3, Labels, on_disk, stretched, write_sound
from lessoncut.render.levelling import levelled, remarks
from lessoncut.render.records import Footage, Tape
from lessoncut.render.samples import RATE_HZ, Chunk
from lessoncut.render.sound import sample_of
from lessoncut.render.targets import target_lufs

_FADE = RATE_HZ // 100
_STEP = 1 << 16


def write_tape(
    footage: Footage, tape: Tape, bench: Bench, to: Path, progress: Progress = no_progress
) -> tuple[str, ...]:
    """Write the tape as M4A, MP3 or FLAC, by the suffix of ``to``, and return what the teacher should know.

    Raises TakeError, ToolError, LessonFolderError; InputError for a cover that is no picture.
    """
    hearing, cutting, setting, coding = shares(progress, [4, 2, 2, 3])
    sounding = bench.sounding(footage, hearing)
    rate = footage.timeline.rate
    stretches = [(sample_of(first, rate), sample_of(end, rate)) for first, end in tape.frames]
    length = sum(end - start for start, end in stretches)
    excerpt, slower = bench.folder / "tape.f32", bench.folder / "stretched.f32"
    sound = on_disk(_excerpt(sounding.sound, stretches), length, sounding.channels, excerpt)
    if tape.tempo != 1:
        sound = stretched(sound, tape.tempo, slower, cutting)
    done = levelled(sound, target_lufs(footage.wishes, sounding.channels), setting)
    metadata = bench.folder / "tape.txt"
    metadata.write_text(tape.metadata, encoding="utf-8")
    cover = Path(footage.wishes.cover) if footage.wishes.cover else None
    coder = {".mp3": MP3, ".flac": FLAC}.get(to.suffix, AAC)
    done = write_sound(done, to, coder, Labels(metadata, tape.language, cover), coding)
    for used in (excerpt, slower):
        used.unlink(missing_ok=True)
    return remarks(done, sounding.tone_lufs)


def _excerpt(sound: Chunk, stretches: Sequence[tuple[int, int]]) -> Iterator[Chunk]:
    """The stretches one after the other, each faded in and out over 10 ms, so that no edge clicks."""
    for start, end in stretches:
        fade = min(_FADE, (end - start) // 2)
        for at in range(start, end, _STEP):
            chunk = np.array(sound[at : min(at + _STEP, end)])
            places = np.arange(at, at + len(chunk))[:, None]
            nearest = np.minimum(places - start, end - 1 - places)
            yield (chunk * np.minimum(1, (nearest + 0.5) / max(1, fade))).astype(np.float32)
