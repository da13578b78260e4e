"""What tests of every part share: how properties are tried, how what was skipped is run at last, and Chromium."""

from __future__ import annotations

import shutil
import signal
from collections.abc import Iterator
from itertools import compress
from typing import Any

import pytest
from hypothesis import settings

# A test must not fail because the machine is busy.
settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")

# In a shell's background Ctrl-C is ignored, and so it would be by every program that the tests start.
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)

SKIPPED = "lessoncut/skipped"
LONGEST = (
    "tests/crash/test_full_disk.py",
    "tests/workflow/test_for_real.py",
    "tests/crash/test_kill.py",
    "tests/review/test_browser_export.py",
    "tests/contract/test_examples.py",
    "tests/render/test_film.py",
    "tests/batch/test_command.py",
    "tests/robustness/test_privacy.py",
    "tests/take/test_decode.py",
)
"""They begin first, so that at the end no worker waits for another."""


def pytest_addoption(parser: pytest.Parser) -> None:
    about = "run what the last run skipped, now that everything is here, and fail where any of it is skipped again"
    parser.addoption("--skipped-last", action="store_true", help=about)


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """The longest first; and only what was skipped, where that is asked for."""
    items.sort(key=lambda item: not item.nodeid.startswith(LONGEST))
    if not config.getoption("--skipped-last"):
        return
    skipped = config.cache.get(SKIPPED, None) if config.cache else None
    if skipped is None:
        raise pytest.UsageError("--skipped-last: nothing is known of a run before")
    ours = tuple(f"{one}::" for one in skipped)  # of tests, and of whole files
    wanted = [f"{item.nodeid}::".startswith(ours) for item in items]
    config.hook.pytest_deselected(items=[item for item, is_wanted in zip(items, wanted, strict=True) if not is_wanted])
    items[:] = compress(items, wanted)


def pytest_sessionfinish(session: pytest.Session) -> None:
    """A check that is skipped where it should run would hold forever."""
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    if reporter is None or session.config.cache is None or hasattr(session.config, "workerinput"):
        return
    skipped = sorted({report.nodeid for report in reporter.stats.get("skipped", ())})
    if not session.config.getoption("--skipped-last"):
        session.config.cache.set(SKIPPED, skipped)
    elif skipped:
        reporter.write_line(f"\n{len(skipped)} skipped again, and none may be")
        session.exitstatus = pytest.ExitCode.TESTS_FAILED
    elif session.exitstatus == pytest.ExitCode.NO_TESTS_COLLECTED and not session.config.cache.get(SKIPPED, None):
        session.exitstatus = pytest.ExitCode.OK


CHROMIUM = shutil.which("chromium")
FLAGS = ("--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run", "--mute-audio")


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    """One for all: a process has room for one such driver."""
    if CHROMIUM is None:
        pytest.skip("needs Chromium")
    playwright = pytest.importorskip("playwright.sync_api")
    with playwright.sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()
