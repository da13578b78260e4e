"""What tests of every part share: how properties are tried, that none is skipped unseen, and Chromium."""

from __future__ import annotations

import shutil
import signal
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import settings

# A test must not fail because the machine is busy.
settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")

# In a shell's background Ctrl-C is ignored, and so it would be by every program that the tests start.
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--none-skipped", action="store_true", help="fail where a test was skipped: everything is here")


def pytest_sessionfinish(session: pytest.Session) -> None:
    """A check that is skipped where it should run would hold forever."""
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    if reporter is None or not session.config.getoption("--none-skipped"):
        return
    if skipped := len(reporter.stats.get("skipped", ())):
        reporter.write_line(f"\n{skipped} skipped, and none may be")
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


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
