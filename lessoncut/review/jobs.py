"""What takes long and runs beside the page: steps, watched from other threads."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from threading import Lock, Thread
from typing import Literal

from lessoncut.errors import LessoncutError
from lessoncut.progress import Progress

State = Literal["waiting", "running", "done", "failed"]


@dataclass(frozen=True)
class Step:
    """One thing to do. ``done`` is the share, 0 to 1; ``says`` is what is just done, what came of it, or went wrong."""

    name: str
    state: State = "waiting"
    done: float = 0.0
    says: str | None = None


class Job:
    """Steps done in a thread of their own, one after the other."""

    def __init__(self, names: tuple[str, ...]) -> None:
        self._steps = {name: Step(name) for name in names}
        self._lock = Lock()

    @property
    def steps(self) -> tuple[Step, ...]:
        with self._lock:
            return tuple(self._steps.values())

    @property
    def running(self) -> bool:
        return any(step.state in ("waiting", "running") for step in self.steps)

    def start(self, work: Callable[[Job], None]) -> None:
        """``work`` begins and ends the steps. What it raises for the user ends all that are not ended yet."""
        Thread(target=self._run, args=(work,), daemon=True).start()

    def begin(self, name: str, says: str | None = None) -> Progress:
        """The progress of a step that begins now, or of its next stage, which is then told by ``says``."""
        self._set(name, state="running", done=0.0, says=says)
        return lambda done: self._set(name, done=done)

    def end(self, name: str, says: str | None = None) -> None:
        self._set(name, state="done", done=1.0, says=says)

    def fail(self, name: str, why: str) -> None:
        self._set(name, state="failed", says=why)

    def _run(self, work: Callable[[Job], None]) -> None:
        why = "This was broken off by a fault of lessoncut's own."
        try:
            work(self)
        except LessoncutError as error:
            why = str(error)
        finally:
            for step in self.steps:
                if step.state in ("waiting", "running"):
                    self.fail(step.name, why)

    def _set(self, name: str, **changes: object) -> None:
        with self._lock:
            self._steps[name] = replace(self._steps[name], **changes)  # type: ignore[arg-type]
