"""Runs ffmpeg; the only home of ffmpeg-python and imageio-ffmpeg.

A job is a command line, or what ``target`` made out of ``source``s:

    video = source(path)["V:0"].filter("scale", 640, 360)
    run(target(video, to=path_of_the_result, format="mp4"), length_ms=duration_ms, progress=progress)

No shell is involved, and every job is held to this:

- A file is named by a ``Path`` and handed over as ``file:`` with its absolute path, so that no name reads as an option
  or an address. What else may stand for an input is ``pipe:``, and what ffmpeg makes itself (``generated``).
- An input may open files and pipes, nothing on a network, and only demuxers in ``RECORDINGS``: a playlist, an edit
  list or a script that calls itself .mp4 is refused, and so cannot make ffmpeg read other files.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from collections import deque
from collections.abc import Generator, Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, suppress
from functools import lru_cache
from pathlib import Path
from threading import Lock
from typing import IO, Any

import ffmpeg
import imageio_ffmpeg

from lessoncut.errors import LessoncutError, TakeError, ToolError
from lessoncut.progress import Progress, no_progress

CHOICE = "LESSONCUT_FFMPEG"
"""Environment variable: the ffmpeg to use, whatever else is installed."""

OLDEST_LIBAVUTIL = 57
"""FFmpeg 5.0; 4.4 has 56 (ffmpeg.org, download page, "Old Releases"; from memory). Unlike the version, a build from
git says it too."""

PROTOCOLS = "file,pipe"

# What cameras, phones, recorders and editors write. Whatever is not listed stays shut: hls, dash, concat, imf and sdp
# name other files or addresses, avisynth and vapoursynth run scripts, subtitles and pictures hold no sound.
RECORDINGS = (
    "3gp,aac,ac3,aiff,amr,amrnb,amrwb,ape,asf,au,avi,avr,caf,dsf,dts,dtshd,dv,eac3,flac,flv,gxf,ircam,iff,loas,m4a,"
    "matroska,mlp,mov,mp3,mp4,mpc,mpc8,mpeg,mpegts,mxf,nistsphere,nut,ogg,oma,pvf,qcp,rm,shn,sox,tak,truehd,tta,voc,"
    "w64,wav,webm,wtv,wv"
)

Stream = Any
"""ffmpeg-python's untyped node: ``.filter(name, ...)``, ``["a:0"]`` and the like."""

Job = Stream | Sequence[str | Path]

# Both packages come without types.
_graphs: Any = ffmpeg
_packaged: Any = imageio_ffmpeg

_CHUNK_BYTES = 1 << 16
_TAIL_LINES = 50
_finding = Lock()


def executable() -> str:
    """The ffmpeg to run: the one ``LESSONCUT_FFMPEG`` names, else a fit one from PATH, else imageio-ffmpeg's.

    Fit is FFmpeg 5 or later with the H.264 encoder. Raises ToolError.
    """
    with _finding:  # two threads would both ask ffmpeg what it is
        return _found()


def _found() -> str:
    if chosen := os.environ.get(CHOICE):
        path = shutil.which(chosen)
        if path and _libavutil(path) >= OLDEST_LIBAVUTIL:
            return path
        raise ToolError(
            "this ffmpeg does not run or is older than version 5",
            where=f"{CHOICE}={chosen}",
            hint=f"name an ffmpeg of version 5 or later there, or unset {CHOICE}",
        )
    found = shutil.which("ffmpeg")
    if found and _is_fit(found):
        return found
    with suppress(RuntimeError):  # imageio-ffmpeg's word for "there is none"
        packaged: str = _packaged.get_ffmpeg_exe()
        if _is_fit(packaged):
            return packaged
    raise ToolError(
        "no usable ffmpeg was found",
        hint=f"install ffmpeg 5 or later with H.264, reinstall imageio-ffmpeg, or set {CHOICE} to an ffmpeg's path",
    )


def url(path: Path) -> str:
    """A name for ffmpeg that can only be this file."""
    return f"file:{path.absolute()}"


def source(path: Path, **options: object) -> Stream:
    """A recording as an input."""
    return _graphs.input(path, **options)


def generated(graph: str, **options: object) -> Stream:
    """Sound or picture made by a filter graph of our own, such as ``color=black:s=640x360``."""
    return _graphs.input(graph, format="lavfi", **options)


def piped(**options: object) -> Stream:
    """What the job is fed through ``stdin``; ``format`` says what it is."""
    return _graphs.input("pipe:0", **options)


def concatenated(pictures: Sequence[Stream]) -> Stream:
    """Pictures of one size and rate, one after the other."""
    return _graphs.concat(*pictures, v=1, a=0)


def target(*streams: Stream, to: Path | None = None, **options: object) -> Stream:
    """Where streams go: a file, or ffmpeg's own output for ``read``."""
    return _graphs.output(*streams, filename=to or "pipe:1", **options)


def run(
    job: Job,
    *,
    length_ms: int | None = None,
    progress: Progress = no_progress,
    stdin: Iterable[bytes] | None = None,
    blame: str | None = None,
) -> None:
    """Run a job that writes files; what stands there is overwritten.

    ``length_ms`` is how long the result will be, for the progress. ``stdin`` is fed to the input made by ``piped``.
    Raises ToolError, or TakeError about the recording that ``blame`` names.
    """
    done = 0.0
    with _running(["-progress", "pipe:1", "-stats_period", "0.2", *_arguments(job)], stdin, blame) as report:
        for line in report:
            key, _, value = line.strip().partition(b"=")
            if key == b"out_time_us" and value.isdigit() and length_ms:
                done = max(done, min(1.0, int(value) / 1000 / length_ms))
            elif key == b"progress":
                progress(done)
    progress(1.0)


def read(
    job: Job, *, chunk_bytes: int = _CHUNK_BYTES, stdin: Iterable[bytes] | None = None, blame: str | None = None
) -> Generator[bytes]:
    """What a job with ``target(..., to=None)`` gives, in chunks that are all full but the last.

    Closing the generator ends ffmpeg. Raises like ``run``.
    """
    with _running(_arguments(job), stdin, blame) as output:
        while chunk := output.read(chunk_bytes):
            yield chunk


def _arguments(job: Job) -> list[str]:
    return _guarded(job if isinstance(job, list | tuple) else _graphs.get_args(job))


def _guarded(arguments: Sequence[str | Path]) -> list[str]:
    """The arguments with the fences before every input; ValueError where a name could be read as something else."""
    if not (isinstance(arguments[-1], Path) or re.fullmatch(r"pipe:\d+", arguments[-1])):
        raise ValueError(f"an output must be a Path or pipe:1, not {arguments[-1]!r}")
    guarded: list[str] = []
    forced: str | None = None
    for option, value in zip(["", *arguments], arguments, strict=False):
        if option == "-f":
            forced = str(value)
        elif option == "-i":
            if not (isinstance(value, Path) or forced == "lavfi" or re.fullmatch(r"pipe:\d+", value)):
                raise ValueError(f"an input must be a Path, generated(graph) or pipe:0, not {value!r}")
            formats = RECORDINGS if forced is None else f"{RECORDINGS},{forced}"
            guarded[-1:] = ["-protocol_whitelist", PROTOCOLS, "-format_whitelist", formats, "-i"]
            forced = None
        guarded.append(url(value) if isinstance(value, Path) else value)
    return guarded


@contextmanager
def _running(arguments: list[str], stdin: Iterable[bytes] | None, blame: str | None) -> Iterator[IO[bytes]]:
    """ffmpeg's output while it runs. However the block is left, ffmpeg is gone afterwards."""
    command = [executable(), "-nostdin", "-hide_banner", "-loglevel", "error", "-y", *arguments]
    try:
        process = subprocess.Popen(
            command,
            stdin=subprocess.DEVNULL if stdin is None else subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        )
    except OSError as error:
        raise ToolError(f"ffmpeg cannot be started ({error.strerror})", where=command[0]) from error
    assert process.stdout and process.stderr
    with ThreadPoolExecutor(max_workers=2) as threads:
        try:
            complaints = threads.submit(_tail, process.stderr)
            feeding = threads.submit(_feed, process.stdin, stdin) if process.stdin and stdin is not None else None
            yield process.stdout
            if feeding:
                feeding.result()
            if code := process.wait():
                raise _failure(code, complaints.result(), blame)
        finally:
            process.kill()
            process.wait()
            process.stdout.close()


def _tail(pipe: IO[bytes]) -> str:
    """The last lines written to ``pipe``; a damaged file can make ffmpeg complain for hours."""
    with pipe:
        return b"".join(deque(pipe, _TAIL_LINES)).decode("utf-8", "replace")


def _feed(pipe: IO[bytes], chunks: Iterable[bytes]) -> None:
    try:
        # A reader that has enough, or has failed, closes the pipe; its own exit code tells which.
        with suppress(BrokenPipeError), pipe:
            for chunk in chunks:
                pipe.write(chunk)
                pipe.flush()  # or a reader that is gone would not be noticed for a while
    finally:
        if isinstance(chunks, Generator):
            chunks.close()


def _failure(code: int, complaints: str, blame: str | None) -> LessoncutError:
    said = _useful(complaints) or f"exit code {code}"
    if "No space left on device" in complaints:
        return ToolError("the disk is full", hint="make room, then run the command again")
    if code < 0:
        hint = f"run the command again; if it happens again, set {CHOICE} to another ffmpeg"
        return ToolError(f"ffmpeg was stopped by signal {-code}", hint=hint)
    if blame is not None:
        return TakeError(f"ffmpeg cannot read it: {said}", where=blame, hint="play the file to see whether it is whole")
    return ToolError(f"ffmpeg failed: {said}")


def _useful(complaints: str) -> str:
    """The last three different things ffmpeg said, without its internal addresses."""
    lines = [re.sub(r"\[[^\]]* @ 0x[0-9a-f]+\] ?", "", line).strip() for line in complaints.splitlines()]
    noise = re.compile(r"$|Conversion failed|Task finished|Terminating thread")
    different = dict.fromkeys(line for line in lines if not noise.match(line))
    return "; ".join(list(different)[-3:])


def _is_fit(path: str) -> bool:
    return _libavutil(path) >= OLDEST_LIBAVUTIL and "--enable-libx264" in _about(path)


def _libavutil(path: str) -> int:
    """The major version of an ffmpeg's libavutil; 0 when it does not run."""
    found = re.search(r"^libavutil\s+(\d+)\.", _about(path), re.MULTILINE)
    return int(found[1]) if found else 0


@lru_cache
def _about(path: str) -> str:
    """What an ffmpeg says of itself; empty when it does not run."""
    try:
        answer = subprocess.run([path, "-version"], capture_output=True, timeout=30, check=False)
    except (OSError, subprocess.TimeoutExpired):
        return ""
    return "" if answer.returncode else answer.stdout.decode("utf-8", "replace")
