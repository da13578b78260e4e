"""Sound into files: AAC, MP3 and FLAC, with chapters and a cover, and never a true peak over what is allowed."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np

from lessoncut.errors import ToolError
from lessoncut.ffmpeg import generated, piped, read, run, source, target
from lessoncut.files import cannot_write
from lessoncut.progress import Progress, no_progress, shares
from lessoncut.render.cover import cover_suffix, read_cover
from lessoncut.render.levelling import Levelled
from lessoncut.render.loudness import Loudness, measure
from lessoncut.render.samples import RATE_HZ, Chunk
from lessoncut.render.targets import HIGHEST_DBTP


@dataclass(frozen=True)
class Coder:
    """ffmpeg's options, and by how much the coder turns the sound down by itself."""

    options: tuple[str, ...]
    turns_down_db: float = 0.0


AAC = Coder(("-c:a", "aac", "-aac_coder", "fast", "-movflags", "+faststart"))
"""ffmpeg's thorough way of coding now and then spoils a frame (measured: 4 dB from the sound where it is usually 30);
its fast one is nearer to the sound at this rate, and takes half the time."""
MP3 = Coder(("-c:a", "libmp3lame", "-id3v2_version", "3"), turns_down_db=0.45)
"""LAME takes everything times 0.95 at constant rates (measured)."""
FLAC = Coder(("-c:a", "flac"))
"""Without loss, for what is cut and coded again."""
_BITS_A_CHANNEL = 96_000
_TRIES = 3
_SPARE_DB = 0.1
_CLOSE_ENOUGH_LU = 0.2
_CHUNK_SAMPLES = 1 << 16
_FORMATS = {".jpg": "jpeg_pipe", ".png": "png_pipe"}


@dataclass(frozen=True)
class Labels:
    """What stands in a file beside its sound. ``metadata`` is a file in ffmpeg's form, with chapters."""

    metadata: Path | None = None
    language: str = "und"
    """ISO 639-2."""
    cover: Path | None = None


def write_sound(
    done: Levelled, to: Path, coder: Coder, labels: Labels | None = None, progress: Progress = no_progress
) -> Levelled:
    """Write the programme to ``to`` (its suffix says the form), and again where coding raised a peak too high or
    changed the loudness.

    Returns what was written. Raises ToolError, InputError for a cover that is no picture.
    """
    if done.levelling.ceiling_dbtp is not None:
        done = done.louder(coder.turns_down_db)
    for left, step in zip(reversed(range(_TRIES)), shares(progress, [4, *[1] * (_TRIES - 1)]), strict=True):
        _write(done, to, coder, labels or Labels(), step)
        if done.levelling.ceiling_dbtp is None or not left:
            break
        coded = loudness_of(to, done.sound.shape[1])
        missing_lu = done.after.integrated_lufs - coded.integrated_lufs
        if abs(missing_lu) <= _CLOSE_ENOUGH_LU:
            missing_lu = 0.0
        excess_db = coded.true_peak_dbtp + missing_lu - HIGHEST_DBTP
        if not missing_lu and excess_db <= 0:
            break
        done = done.louder(missing_lu)
        if excess_db > 0:
            done = done.lower(excess_db + _SPARE_DB)
    progress(1.0)
    return done


def _write(done: Levelled, to: Path, coder: Coder, labels: Labels, progress: Progress) -> None:
    channels = done.sound.shape[1]
    job: list[str | Path] = ["-f", "f32le", "-ar", str(RATE_HZ), "-ac", str(channels), "-i", "pipe:0"]
    mapped: list[str | Path] = ["-map", "0:a"]
    more = 1
    if labels.metadata:
        job += ["-f", "ffmetadata", "-i", labels.metadata]
        mapped += ["-map_metadata", str(more), "-map_chapters", str(more)]
        more += 1
    if labels.cover:
        suffix = cover_suffix(read_cover(labels.cover), str(labels.cover))
        job += ["-f", _FORMATS[suffix], "-i", labels.cover]
        mapped += ["-map", f"{more}:v", "-c:v", "copy", "-disposition:v", "attached_pic"]
    length_ms = len(done.sound) * 1000 // RATE_HZ
    tags = ["-metadata:s:a:0", f"language={labels.language}"]
    quality = ["-b:a", str(_BITS_A_CHANNEL * channels), "-ar", str(RATE_HZ)]
    run(
        [*job, *mapped, *tags, *coder.options, *quality, to],
        length_ms=length_ms,
        progress=progress,
        stdin=(block.astype("<f4").tobytes() for block in done.blocks()),
    )


def loudness_of(path: Path, channels: int) -> Loudness:
    """How loud a coded file is when it is played."""
    return measure(sound_of(path, channels))


def sound_of(path: Path, channels: int) -> Iterator[Chunk]:
    """The sound of a finished file as it is played, at 48 kHz."""
    job = target(source(path)["a:0"], format="f32le", ar=RATE_HZ, ac=channels)
    with closing(read(job, chunk_bytes=_CHUNK_SAMPLES * 4 * channels)) as chunks:
        for chunk in chunks:
            yield np.frombuffer(chunk, "<f4").reshape(-1, channels)


def stretched(sound: Chunk, tempo: float, into: Path, progress: Progress = no_progress) -> Chunk:
    """The sound at another tempo and the same pitch, on the disk; exactly ``len / tempo`` samples."""
    channels, length = sound.shape[1], round(len(sound) / tempo)
    blocks = (sound[at : at + _CHUNK_SAMPLES].astype("<f4").tobytes() for at in range(0, len(sound), _CHUNK_SAMPLES))
    heard = piped(format="f32le", ar=RATE_HZ, ac=channels).audio
    heard = heard.filter("rubberband", tempo=tempo) if has_rubberband() else heard.filter("atempo", tempo)
    job = target(heard, format="f32le", ar=RATE_HZ, ac=channels)
    with closing(read(job, chunk_bytes=_CHUNK_SAMPLES * 4 * channels, stdin=blocks)) as chunks:
        return on_disk(
            (np.frombuffer(c, "<f4").reshape(-1, channels) for c in chunks), length, channels, into, progress
        )


def on_disk(chunks: Iterator[Chunk], length: int, channels: int, into: Path, progress: Progress = no_progress) -> Chunk:
    """The chunks as one array that is read from the disk as it is used; cut, or filled with silence, to ``length``.

    Raises LessonFolderError where the disk does not take it.
    """
    left = length
    try:
        with into.open("wb") as out:
            for chunk in chunks:
                fits = chunk[:left]
                out.write(fits.astype("<f4").tobytes())
                left -= len(fits)
                progress(1 - left / max(1, length))
            # Through the file and not through a map, where a full disk would end the program.
            out.truncate(max(1, length) * channels * 4)
        return np.memmap(into, dtype="<f4", mode="r", shape=(max(1, length), channels))[:length]
    except OSError as error:
        raise cannot_write(into, error) from error


@cache
def has_rubberband() -> bool:
    """Whether this ffmpeg can stretch by Rubber Band; atempo, which every one has, is a little rougher."""
    trial = generated("sine=duration=0.1").filter("rubberband", tempo=0.8)
    try:
        return any(read(target(trial, format="s16le")))
    except ToolError:
        return False
