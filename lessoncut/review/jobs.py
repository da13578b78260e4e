"""What takes long and runs beside the page: the export, and the copy of the take that browsers play."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from threading import Lock, Thread
from typing import Literal

from lessoncut.errors import LessoncutError

State = Literal["waiting", "running", "done", "failed"]


@dataclass(frozen=True)
class Step:
    """One thing to do. ``done`` is the share, 0 to 1; ``says`` is what went wrong, or what came of it."""

    name: str
    state: State = "waiting"
    done: float = 0.0
    says: str | None = None


class Job:
    """Steps done one after the other in a thread of their own, watched from others."""

    def __init__(self, names: tuple[str, ...]) -> None:
        self._steps = [Step(name) for name in names]
        self._lock = Lock()

    @property
    def steps(self) -> tuple[Step, ...]:
        with self._lock:
            return tuple(self._steps)

    @property
    def running(self) -> bool:
        return any(step.state in ("waiting", "running") for step in self.steps)

    def start(self, do: Callable[[str, Callable[[float], None]], str | None]) -> None:
        """Calls ``do`` with each step's name and its progress; it returns what to say of it.

        A LessoncutError ends its step and lets the others go on; a fault of ours ends them all.
        """
        Thread(target=self._run, args=(do,), daemon=True).start()

    def _run(self, do: Callable[[str, Callable[[float], None]], str | None]) -> None:
        reached = 0
        try:
            for at, step in enumerate(self.steps):
                reached = at
                self._set(at, state="running")

                def progress(done: float, at: int = at) -> None:
                    self._set(at, done=done)

                try:
                    self._set(at, says=do(step.name, progress), state="done", done=1.0)
                except LessoncutError as error:
                    self._set(at, says=str(error), state="failed")
            reached = len(self.steps)
        finally:
            for at in range(reached, len(self.steps)):
                self._set(at, state="failed", says="This was broken off by a fault of lessoncut's own.")

    def _set(self, at: int, **changes: object) -> None:
        with self._lock:
            self._steps[at] = replace(self._steps[at], **changes)  # type: ignore[arg-type]
