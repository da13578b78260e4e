"""Aligners side by side: this process's own, and others in processes of their own, since each keeps one core busy.

A helper is asked over its standard input and answers over its standard output, one line of JSON each, and ends when its
input does. What a helper leaves unanswered, whatever happened to it, is answered here.
"""

from __future__ import annotations

import json
import signal
import subprocess
import sys
from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from functools import cached_property
from pathlib import Path
from threading import Lock, Thread
from typing import IO, Self

from lessoncut import codec
from lessoncut.hearing.align import Aligner
from lessoncut.hearing.records import Alignment, AlignmentRequest
from lessoncut.progress import Progress, no_progress
from lessoncut.take.decode import mapped

MOST = 4
"""Aligners in all: each takes its time to start, and its memory."""
WORTH_MS = 20_000
"""So much sound to be asked about is worth starting helpers for."""
AHEAD = 3
"""Questions a helper holds, so that it never waits for the next one."""


class Aligners:
    """Answers as ``Aligner`` does, on up to ``cores`` cores. ``sound`` is the take's as ``take.decode`` wrote it.

    Helpers are started ``at_once``, or when there is much to ask. To be closed, or used in a ``with``.
    """

    def __init__(self, sound: Path, cores: int, *, at_once: bool = False) -> None:
        self._sound = sound
        self._wanted = min(cores, MOST) - 1
        self.helpers: list[_Helper] = []
        if at_once:
            self._start()

    @cached_property
    def _own(self) -> Aligner:
        return Aligner(mapped(self._sound))

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """End the helpers, answered or not."""
        for helper in self.helpers:
            helper.end()
        self.helpers, self._wanted = [], 0

    def align(self, requests: Sequence[AlignmentRequest], progress: Progress = no_progress) -> tuple[Alignment, ...]:
        """An answer to each request, in order; one without a path has no words.

        Raises LessonFolderError when the sound cannot be read.
        """
        if sum(each.window.length_ms for each in requests) >= WORTH_MS:
            self._start()
        round_ = _Round(requests)
        helpers = self.helpers if len(requests) > 1 else []
        beside = [Thread(target=helper.work, args=(round_,), daemon=True) for helper in helpers]
        for thread in beside:
            thread.start()
        self._answer(round_, round_.untaken(), progress)
        for thread in beside:
            thread.join()
        self._answer(round_, round_.unanswered(), progress)
        return round_.answers()

    def _answer(self, round_: _Round, places: Iterable[int], progress: Progress) -> None:
        for place in places:
            round_.answered(place, *self._own.align([round_.requests[place]]))
            progress(round_.done)

    def _start(self) -> None:
        if not self.helpers:
            self.helpers = [_Helper(self._sound) for _ in range(self._wanted)]


class _Round:
    """Requests that are answered in any order, the longest windows first; safe for threads."""

    def __init__(self, requests: Sequence[AlignmentRequest]) -> None:
        self.requests = requests
        longest = sorted(range(len(requests)), key=lambda place: -requests[place].window.length_ms)
        self._waiting = deque(longest)
        self._answers: dict[int, Alignment] = {}
        self._lock = Lock()

    def take(self) -> int | None:
        """The place of the next request that nobody has taken."""
        with self._lock:
            return self._waiting.popleft() if self._waiting else None

    def answered(self, place: int, answer: Alignment) -> None:
        with self._lock:
            self._answers[place] = answer

    @property
    def done(self) -> float:
        return len(self._answers) / len(self.requests)

    def untaken(self) -> Iterator[int]:
        """The places that nobody else takes, taken one by one."""
        while (place := self.take()) is not None:
            yield place

    def unanswered(self) -> list[int]:
        """The places of what was taken and never answered."""
        return [place for place in range(len(self.requests)) if place not in self._answers]

    def answers(self) -> tuple[Alignment, ...]:
        return tuple(self._answers[place] for place in range(len(self.requests)))


class _Helper:
    """Another process with an aligner for the same sound."""

    def __init__(self, sound: Path) -> None:
        self.process: subprocess.Popen[str] | None = None
        with suppress(OSError):  # no memory for another process, or no interpreter of that name: it is done here
            self.process = subprocess.Popen(
                [sys.executable, "-m", "lessoncut.hearing.aligners", str(sound)],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                encoding="utf-8",
            )

    def work(self, round_: _Round) -> None:
        """Have requests of the round answered until there are none; those that a broken helper holds stay open."""
        process = self.process
        if process is None:
            return
        assert process.stdin and process.stdout
        held: deque[int] = deque()
        try:
            while True:
                while len(held) < AHEAD and (place := round_.take()) is not None:
                    held.append(place)
                    process.stdin.write(json.dumps(codec.encode(round_.requests[place])) + "\n")
                    process.stdin.flush()
                if not held:
                    return
                answer = codec.decode(Alignment, codec.loads(process.stdout.readline()))
                round_.answered(held.popleft(), answer)
        except (OSError, ValueError):  # it ended, or is ended from outside
            self.end()

    def end(self) -> None:
        """From whichever thread comes first."""
        process, self.process = self.process, None
        if process is None:
            return
        process.kill()
        process.wait()
        for pipe in (process.stdin, process.stdout):
            with suppress(OSError):  # what was still to be written has no reader
                if pipe:
                    pipe.close()


def answer_all(sound: Path, asked: IO[str], told: IO[str]) -> None:
    """Answer every line of ``asked`` with a line in ``told``."""
    aligner = Aligner(mapped(sound))
    for row in asked:
        (answer,) = aligner.align([codec.decode(AlignmentRequest, codec.loads(row))])
        told.write(json.dumps(codec.encode(answer)) + "\n")
        told.flush()


if __name__ == "__main__":
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C goes to every process here: this one ends with its input
    sys.stdin.reconfigure(encoding="utf-8")  # type: ignore[union-attr]  # it is a plain text stream
    sys.stdout.reconfigure(encoding="utf-8")  # type: ignore[union-attr]
    answer_all(Path(sys.argv[1]), sys.stdin, sys.stdout)
