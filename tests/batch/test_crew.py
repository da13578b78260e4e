"""Lessons on real worker processes, one of them killed midway."""

from __future__ import annotations

import os
import signal
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from lessoncut.errors import ToolError
from lessoncut.workflow.batch import Job, Outcome
from tests.batch.rehearsing import MOST_S, TELL_EVERY_S, rehearse, starts

dask = pytest.importorskip("dask", reason="the batch extra is not installed")
crews = pytest.importorskip("lessoncut.workflow.crew", reason="the batch extra is not installed")

# The library's own threads and sockets end a little after it says that they have.
pytestmark = [
    pytest.mark.filterwarnings("ignore::ResourceWarning"),
    pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning"),
]

Told = Callable[[str, str, float], None]


def jobs(folder: Path, *names: str) -> list[Job]:
    return [Job(name, (folder / "take.mp4",), folder / "script.md", folder / name) for name in names]


@pytest.fixture(scope="module")
def two() -> Iterator[Any]:
    """Two local workers with three of seven cores each, on a machine where a start takes longer than dask waits."""
    impatient: Any = dask.config.set({"distributed.deploy.lost-worker-timeout": "1ms"})
    with impatient, pytest.MonkeyPatch.context() as patch:
        patch.setattr(crews, "cores", lambda: 7)
        with crews.crew(2, None) as client:
            yield client


def work(client: Any, folder: Path, *names: str, told: Told = print) -> dict[str, Outcome]:
    return {outcome.name: outcome for outcome in crews.work_through(client, jobs(folder, *names), rehearse, told)}


def kill_the_worker_on(lesson: str, folder: Path) -> None:
    until_s = time.monotonic() + MOST_S
    while time.monotonic() < until_s:
        pid = dict(starts(folder)).get(lesson)
        if pid is not None:
            os.kill(pid, signal.SIGKILL)
            return
        time.sleep(0.01)


def test_a_killed_worker_costs_only_its_lesson_and_a_broken_lesson_stops_no_other(two: Any, tmp_path: Path) -> None:
    easy = [f"lesson-{number:02d}" for number in range(16)]
    killer = threading.Thread(target=kill_the_worker_on, args=("stuck", tmp_path))
    killer.start()
    heard: list[tuple[str, str, float]] = []
    outcomes = work(
        two, tmp_path, "stuck", "faulty", "pair-1", "pair-2", *easy, told=lambda *progress: heard.append(progress)
    )
    killer.join()
    assert outcomes.keys() == {"stuck", "faulty", "pair-1", "pair-2", *easy}
    assert outcomes["stuck"].state == "done"
    assert outcomes["faulty"] == Outcome(
        "faulty",
        tmp_path / "faulty",
        "failed",
        ("something went wrong that should not: ZeroDivisionError: a fault of ours",),
        1,
    )
    assert {outcomes[name].state for name in ("pair-1", "pair-2", *easy)} == {"done"}
    times = Counter(name for name, _ in starts(tmp_path))
    assert times.pop("stuck") == 2
    assert set(times.values()) == {1}, "another lesson was begun again"
    killed, second = (pid for name, pid in starts(tmp_path) if name == "stuck")
    assert killed != second
    assert {name for name, _, _ in heard} == outcomes.keys()
    assert {(stage, done) for _, stage, done in heard} == {("Rehearsing", 0.0)}


def test_a_lesson_that_kills_every_worker_is_given_up(two: Any, tmp_path: Path) -> None:
    outcomes = work(two, tmp_path, "deadly", "lesson")
    assert outcomes["lesson"].state == "done"
    assert outcomes["deadly"].code == 1
    assert "every worker that had it was ended" in outcomes["deadly"].says[0]


def test_a_lesson_whose_only_worker_is_killed_waits_for_the_next(tmp_path: Path) -> None:
    """When no worker is alive nobody can be given the lesson: it must not be forgotten until one is."""
    killer = threading.Thread(target=kill_the_worker_on, args=("stuck", tmp_path))
    killer.start()
    with crews.crew(1, None) as client:
        outcomes = work(client, tmp_path, "stuck", "deadly")
    killer.join()
    assert outcomes["stuck"].state == "done"
    assert outcomes["deadly"].code == 1
    # What "stuck" gave may have been lost with a worker before it was fetched.
    assert Counter(name for name, _ in starts(tmp_path))["deadly"] == crews.MOST_KILLED


def test_workers_are_whole_when_they_are_told_to_end(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The only worker dies of the last lesson. dask (2026.8) raises AssertionError where its successor is about to
    begin when the cluster is closed."""
    alive: list[int] = []
    close = crews.distributed.LocalCluster.close

    def closing(cluster: Any, *args: Any, **options: Any) -> Any:
        alive.append(len(cluster.scheduler.workers))
        return close(cluster, *args, **options)

    monkeypatch.setattr(crews.distributed.LocalCluster, "close", closing)
    with crews.crew(1, None) as client:
        assert work(client, tmp_path, "deadly")["deadly"].code == 1
    assert alive[0] == 1


def test_a_worker_has_its_share_of_the_cores(two: Any, tmp_path: Path) -> None:
    assert work(two, tmp_path, "lesson")["lesson"].says == ("3",)


def test_who_has_stopped_listening_is_told_no_more(two: Any, tmp_path: Path) -> None:
    two.wait_for_workers(2, MOST_S)
    heard: list[str] = []
    lessons = crews.work_through(
        two, jobs(tmp_path, "talking", "lesson"), rehearse, lambda name, *_: heard.append(name)
    )
    assert next(lessons).name == "lesson"
    until_s = time.monotonic() + MOST_S
    while "talking" not in heard:
        assert time.monotonic() < until_s
        time.sleep(0.01)
    lessons.close()
    time.sleep(TELL_EVERY_S)  # for what was on its way
    told = len(heard)
    # Work on the same workers ends after what they were at.
    work(two, tmp_path, "pair-1", "pair-2", told=lambda *_: None)
    assert len(heard) == told


def test_the_workers_of_a_cluster_by_its_address(tmp_path: Path) -> None:
    """The same way as local ones, over a plain address; such workers have all their threads."""
    with (
        dask.config.set({f"distributed.nanny.environ.{crews.SHARE}": ""}),
        crews.distributed.LocalCluster(
            n_workers=1, threads_per_worker=5, host="127.0.0.1", dashboard_address="127.0.0.1:0", silence_logs=50
        ) as cluster,
    ):
        assert cluster.scheduler_address.startswith("tcp://")
        with crews.crew(None, cluster.scheduler_address) as client:
            (outcome,) = crews.work_through(client, jobs(tmp_path, "lesson"), rehearse, lambda *_: None)
    assert outcome.says == ("5",)


def test_no_scheduler_there(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(crews, "MOST_WAIT_S", 0.3)
    with pytest.raises(ToolError, match="no scheduler answers"), crews.crew(None, "tcp://127.0.0.1:9"):
        pass
    with pytest.raises(ToolError, match="no scheduler answers"), crews.crew(None, "nonsense://"):
        pass


def test_without_the_keys_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    def unknown() -> None:
        raise ImportError("no cryptography")

    monkeypatch.setattr(crews.distributed.Security, "temporary", unknown)
    with pytest.raises(ToolError, match="no cryptography") as told, crews.crew(1, None):
        pass
    assert told.value.hint == "pip install 'lessoncut[batch]'"
