"""The picture made anew: every shot encoded once, straight from the take, two at a time.

A file's frames come onto the lesson's grid: each is shown from the frame nearest to its time, in files whose frames are
steady and in others, upright, in square pixels, and fitted into the size of the take's first picture.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from concurrent.futures import FIRST_EXCEPTION, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate
from pathlib import Path
from threading import Event

from lessoncut.cores import cores
from lessoncut.errors import Cancelled
from lessoncut.ffmpeg import Stream, concatenated, generated, run, source, target
from lessoncut.progress import Progress, no_progress
from lessoncut.render.entering import BACK_FRAMES, INDEXED, REACH_S, Entry, entry_of
from lessoncut.render.packets import h264
from lessoncut.render.packets.reading import first_shown_s
from lessoncut.render.shots import Shot
from lessoncut.take.records import Picture, Take, TakeFile
from lessoncut.times import FrameRate

AT_ONCE = 2
"""Encoders that run side by side."""
_BACK_S = Fraction(1)
"""How far before a shot a file with an index is entered where its frames are not steady: one may stand so long."""
_BACK_WITHOUT_INDEX_S = Fraction(12)
"""Files without an index are entered anywhere; the next key frame is not far."""
_KEY_FRAMES_S = 2


@dataclass(frozen=True)
class Look:
    """How the picture is encoded. ``size`` is width and height as seen, both even."""

    size: tuple[int, int]
    preset: str = "veryfast"
    crf: int = 17
    """Visually lossless at this preset (common practice, no source)."""


def whole_look(take: Take) -> Look:
    """The size of the take's first picture, upright and in square pixels."""
    assert take.picture
    return Look(_upright(take.picture))


def small_look(take: Take, long_side: int = 640) -> Look:
    """A small picture that is made quickly."""
    width, height = whole_look(take).size
    scale = min(Fraction(1), Fraction(long_side, max(width, height)))
    return Look((_even(width * scale), _even(height * scale)), "ultrafast", 26)


def encode(
    take: Take,
    rate: FrameRate,
    shots: Sequence[Shot],
    folder: Path,
    look: Look,
    prompt: Path | None = None,
    progress: Progress = no_progress,
) -> tuple[Path, ...]:
    """One file a shot. ``prompt`` is an ASS file in lesson time that is drawn into the picture.

    Raises TakeError, ToolError; whatever ``progress`` raises ends all encoders first.
    """
    zeros = {file: grid_zero_s(take.files[file], rate) for file in {shot.file for shot in shots}}
    firsts = [0, *accumulate(shot.frames for shot in shots)]
    paths = tuple(folder / f"shot-{number:05d}.mov" for number in range(len(shots)))
    stopped = Event()
    done = [0.0] * len(shots)

    def make(number: int) -> None:
        shot, file = shots[number], take.files[shots[number].file]
        shown = _upright_on_grid(file, Entry(shot), rate, zeros[shot.file], look.size)
        if prompt:
            shown = shown.filter("setpts", f"N+{firsts[number]}").filter("ass", filename=str(prompt))
        job = target(
            shown.filter("format", "yuv420p").filter("setpts", "N"),
            to=paths[number],
            format="mov",
            **_encoding(look, rate, shot.file),
        )

        def step(share: float) -> None:
            if stopped.is_set():
                raise Cancelled("stopped")
            done[number] = share * shot.frames

        run(job, length_ms=rate.start_ms(shot.frames), progress=step, blame=file.path)

    with ThreadPoolExecutor(AT_ONCE) as pool:
        works = [pool.submit(make, number) for number in range(len(shots))]
        try:
            unfinished = True
            while unfinished:
                unfinished = bool(wait(works, 0.2, FIRST_EXCEPTION).not_done) and not _failed(works)
                progress(sum(done) / max(1, firsts[-1]))
            for work in works:
                if work.done():
                    work.result()
        finally:
            stopped.set()
            for work in works:
                work.cancel()
    return paths


def quickly_shown(take: Take, rate: FrameRate, shots: Sequence[Shot], size: tuple[int, int]) -> tuple[Stream, int]:
    """The shots one after the other, not encoded yet, and how many of their frames stand still because key frames lie
    far apart. Raises TakeError.
    """
    zeros = {file: grid_zero_s(take.files[file], rate) for file in {shot.file for shot in shots}}
    entries = [entry_of(take.files[shot.file], shot, rate, zeros[shot.file]) for shot in shots]
    pieces = [
        _upright_on_grid(take.files[one.shot.file], one, rate, zeros[one.shot.file], size, number)
        for number, one in enumerate(entries)
    ]
    whole = concatenated([piece.filter("format", "yuv420p") for piece in pieces]) if len(pieces) > 1 else pieces[0]
    shown = whole.filter("format", "yuv420p").filter("settb", 1 / rate.per_second).filter("setpts", "N")
    return shown, sum(one.still for one in entries)


def _failed(works: Sequence[Future[None]]) -> bool:
    return any(work.done() and work.exception() for work in works)


def grid_zero_s(file: TakeFile, rate: FrameRate) -> Fraction:
    """Where the grid's frame 0 begins on the file's own clock.

    That is the file's start; where its frames are steady at the grid's rate, the grid is moved by up to half a frame
    so that each of them fills exactly one place.
    """
    start_s = Fraction(file.start_ms, 1000)
    if file.picture is None or not file.picture.steady or file.picture.rate != rate:
        return start_s
    first_s = first_shown_s(Path(file.path))
    return first_s - math.floor((first_s - start_s) * rate.per_second + Fraction(1, 2)) / rate.per_second


def _upright_on_grid(
    file: TakeFile, entry: Entry, rate: FrameRate, zero_s: Fraction, size: tuple[int, int], number: int = 0
) -> Stream:
    """The frames of one shot, and nothing else; ``number`` tells it from others in the same job."""
    width, height = size
    shot = entry.shot
    played = shot.last - shot.first
    # ffmpeg-python takes equal inputs for one; the size of a queue tells them apart.
    apart = {"thread_queue_size": 64 + number}
    if file.picture is None:
        black = generated(f"color=black:s={width}x{height}:r={rate.per_second}", **apart)
        return black.filter("trim", end_frame=shot.frames)
    from_s = max(Fraction(0), shot.first / rate.per_second - _back_s(file, file.picture))
    if entry.key is not None:
        from_s = entry.key / rate.per_second + REACH_S
    entered = {"ss": f"{float(from_s):.3f}", "noaccurate_seek": None} if from_s else {}
    # Every thread holds a frame back, and the next key frame would have to be read to get it out.
    less = {"skip_frame": "nokey", "threads": 1} if entry.alone else {}
    shown = source(Path(file.path), copyts=None, **entered, **less, **apart)["V:0"]
    if file.picture.interlaced:
        shown = shown.filter("bwdif", mode="send_frame")
    return (
        shown.filter("setpts", f"round(PTS-{float(zero_s):.9f}/TB)")
        .filter("tpad", stop=-1, stop_mode="clone")
        .filter("fps", rate.per_second, start_time=f"{float(shot.first / rate.per_second):.6f}")
        .filter("trim", end_frame=played)
        .filter("scale", "trunc(iw*sar/2)*2", "ih")
        .filter("scale", width, height, force_original_aspect_ratio="decrease", force_divisible_by=2)
        .filter("pad", width, height, -1, -1)
        .filter("setsar", 1)
        .filter("tpad", start=shot.before, start_mode="clone", stop=shot.after, stop_mode="clone")
    )


def _back_s(file: TakeFile, picture: Picture) -> Fraction:
    """How far before a shot decoding has to begin."""
    if Path(file.path).suffix.lower() not in INDEXED:
        return _BACK_WITHOUT_INDEX_S
    return min(_BACK_S, BACK_FRAMES / picture.rate.per_second) if picture.steady else _BACK_S


def _encoding(look: Look, rate: FrameRate, file: int) -> dict[str, object]:
    """Each file's parameter sets have a number of their own, so that shots of unlike files can stand in one track."""
    return {
        "vcodec": "libx264",
        "preset": look.preset,
        "crf": look.crf,
        "g": round(_KEY_FRAMES_S * rate.per_second),
        "x264-params": f"sps-id={file % h264.MOST_SETS}",
        "threads": max(1, cores() // AT_ONCE),
        "video_track_timescale": rate.per_second.numerator,
        "map_metadata": -1,
    }


def _upright(picture: Picture) -> tuple[int, int]:
    """Width and height as seen, both even."""
    width, height = picture.width, picture.height
    if picture.rotation_deg in (90, 270):
        width, height = height, width
    return _even(Fraction(width)), _even(Fraction(height))


def _even(length: Fraction) -> int:
    return max(2, round(length / 2) * 2)
