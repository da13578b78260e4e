"""Worker processes that work on lessons side by side; the only home of dask.distributed.

Local workers and those of a cluster are told the same things in the same way. A worker has one lesson at a time, so
that one whose process is killed costs that lesson's work alone: it is given to another worker, which goes on from what
the lesson folder holds. Local workers listen on this machine alone, behind keys that live as long as the run.
"""

from __future__ import annotations

import logging
import os
import signal
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from typing import Any

from lessoncut.cores import CHOICE, cores
from lessoncut.errors import ToolError
from lessoncut.progress import Progress
from lessoncut.workflow.batch import FAULT, Job, Outcome
from lessoncut.workflow.records import Stages


def _missing(error: ImportError) -> ToolError:
    return ToolError(
        f"many lessons at once need dask.distributed and its keys, which are not installed ({error})",
        hint="pip install 'lessoncut[batch]'",
    )


try:
    import dask
    import distributed
except ImportError as error:
    raise _missing(error) from error

_dask: Any = dask
_spread: Any = distributed  # they come without types

Do = Callable[[Job, Stages], Outcome]
Told = Callable[[str, str, float], None]
"""Told how far a lesson is: its name, the stage, the share of the stage that is done. From another thread."""

MOST_WAIT_S = 30.0
"""For the first worker of a cluster to be there."""
LOOK_EVERY_S = 1.0
MOST_FETCH_S = 20.0
"""For an answer that is there to come."""
MOST_LOST = 5
MOST_KILLED = 2
"""A lesson that has cost this many local workers their lives is given up."""
TELL_EVERY_S = 0.5
TOPIC = "lessoncut"
SHARE = "LESSONCUT_WORKER_CORES"
"""Variable of a local worker's environment: the cores that are its own."""

_WORKERS_OWN = {
    "distributed.nanny.pre-spawn-environ.MALLOC_TRIM_THRESHOLD_": None,
    "distributed.worker.profile.enabled": False,
    "distributed.deploy.lost-worker-timeout": "1 day",
}
"""For local workers. What they give back to the system at once, as dask would have it, the recogniser fetches again at
once: more time of the system than all else. Nobody looks at the profile. And one that was killed is begun again: on a
busy machine that takes longer than dask waits before it does without."""

_one_at_a_time = threading.Lock()
"""In a worker with several threads."""


class _Deaf(_spread.WorkerPlugin):  # type: ignore[misc]  # its class comes without types
    """A local worker does not hear Ctrl-C itself, which goes to every process here: it ends when it is told to."""

    def setup(self, worker: Any) -> None:  # noqa: ARG002 - the shape of a plugin
        signal.signal(signal.SIGINT, signal.SIG_IGN)


@contextmanager
def crew(workers: int | None, scheduler: str | None) -> Iterator[Any]:
    """A client of the scheduler at this address, or of as many local worker processes as asked for, else one a core.

    Raises ToolError when no worker answers.
    """
    if scheduler is not None:
        with _client(scheduler) as client:
            yield client
        return
    count = workers or cores()
    share = max(1, cores() // count)
    try:
        keys = _spread.Security.temporary()
    except ImportError as error:
        raise _missing(error) from error
    with (
        _dask.config.set(_WORKERS_OWN | {f"distributed.nanny.environ.{SHARE}": str(share)}),
        tempfile.TemporaryDirectory(prefix="lessoncut-batch-") as room,
        _spread.LocalCluster(
            n_workers=count,
            threads_per_worker=1,  # so what waits behind another lesson goes to a worker that has none
            processes=True,
            security=keys,
            host="127.0.0.1",
            dashboard_address="127.0.0.1:0",
            memory_limit=None,
            local_directory=room,
            silence_logs=logging.CRITICAL,
            scheduler_kwargs={"allowed_failures": MOST_KILLED - 1},
        ) as cluster,
        _client(cluster) as client,
    ):
        client.register_plugin(_Deaf())
        try:
            yield client
        finally:
            # A worker that was just killed is being begun again, and dask fails at ending one that has not begun.
            with suppress(TimeoutError, OSError):
                client.wait_for_workers(count, timeout=MOST_WAIT_S)


@contextmanager
def _client(of: Any) -> Iterator[Any]:
    try:
        client = _spread.Client(of, timeout=MOST_WAIT_S)
    except (OSError, ValueError) as error:
        raise ToolError(
            f"no scheduler answers ({error})",
            where=str(of),
            hint="dask scheduler, and an address such as tcp://host:8786",
        ) from error
    with client:
        try:
            client.wait_for_workers(1, timeout=MOST_WAIT_S)
        except TimeoutError as error:
            raise ToolError(
                "the scheduler has no worker", where=str(of), hint="dask worker ADDRESS --nthreads 2, on every machine"
            ) from error
        yield client


def work_through(client: Any, jobs: Sequence[Job], do: Do, told: Told) -> Iterator[Outcome]:
    """The outcome of every job, as each ends. One that fails stops no other."""

    waiting = list(reversed(jobs))
    under_way: dict[Any, Job] = {}
    lost: Counter[Job] = Counter()
    with _listening(client, told):
        while waiting or under_way:
            free = len(client.nthreads()) - len(under_way)
            for _ in range(min(free, len(waiting))):
                job = waiting.pop()
                # No worker is named: a lesson that was to have one is taken up by no other when none is alive.
                under_way[client.submit(_on_worker, job, do, pure=False)] = job
            for future in _ended(list(under_way)):
                job = under_way.pop(future)
                try:
                    yield _outcome(future, job)
                except TimeoutError:
                    # Its holder was killed before it was fetched. Begun again, what is done is found at once.
                    future.cancel()
                    lost[job] += 1
                    if lost[job] < MOST_LOST:
                        waiting.append(job)
                    else:
                        yield Outcome(job.name, job.lesson, "failed", (_KILLED,), FAULT)


@contextmanager
def _listening(client: Any, told: Told) -> Iterator[None]:
    """The scheduler goes on telling a client that has gone, and complains, unless it is asked to stop before."""

    def heard(event: tuple[float, dict[str, Any]]) -> None:
        told(event[1]["name"], event[1]["stage"], event[1]["done"])

    client.subscribe_topic(TOPIC, heard)
    try:
        yield
    finally:
        if client.status == "running":
            client.unsubscribe_topic(TOPIC)


def _ended(futures: Sequence[Any]) -> list[Any]:
    """Those that have ended; none after a while, so that workers who have come since are not left waiting."""
    if not futures:
        time.sleep(LOOK_EVERY_S)
        return []
    try:
        return list(_spread.wait(futures, timeout=LOOK_EVERY_S, return_when="FIRST_COMPLETED").done)
    except TimeoutError:
        return []


def _on_worker(job: Job, do: Do) -> Outcome:
    """Runs on a worker, whose threads are its share of the machine's cores if nothing else is; one lesson after the
    other."""
    worker = _spread.get_worker()
    with _one_at_a_time:
        os.environ[CHOICE] = os.environ.get(SHARE) or str(worker.state.nthreads)
        return do(job, lambda stage: _telling(worker, job.name, stage))


def _telling(worker: Any, name: str, stage: str) -> Progress:
    last_s = float("-inf")

    def tell(done: float) -> None:
        nonlocal last_s
        if (now_s := time.monotonic()) - last_s >= TELL_EVERY_S:
            last_s = now_s
            worker.log_event(TOPIC, {"name": name, "stage": stage, "done": done})

    tell(0.0)
    return tell


_KILLED = "every worker that had it was ended: it may need more memory than there is"


def _outcome(future: Any, job: Job) -> Outcome:
    """Raises TimeoutError when the answer cannot be fetched, though it was there."""
    if future.cancelled():
        return Outcome(job.name, job.lesson, "failed", ("the scheduler went away while it was worked on",), FAULT)
    fault = future.exception(timeout=MOST_FETCH_S)
    if fault is None:
        done: Outcome = future.result(timeout=MOST_FETCH_S)
        return done
    if isinstance(fault, _spread.scheduler.KilledWorker):
        says = _KILLED
    else:
        says = f"something went wrong that should not: {type(fault).__name__}: {fault}"
    return Outcome(job.name, job.lesson, "failed", (says,), FAULT)
