"""The installed wheel does the whole job, away from the source: python smoke.py"""

from __future__ import annotations

import json
import re
import signal
import subprocess
import sys
import time
from importlib import metadata
from pathlib import Path
from urllib.error import URLError
from urllib.request import HTTPCookieProcessor, build_opener

import lessoncut

COMMAND = Path(sys.executable).with_name("lessoncut")
MOST_BYTES = 6_000_000
"""Of the packaged sample, so that the wheel stays light."""


def main() -> None:
    """Raises AssertionError or CalledProcessError for the first thing that is wrong."""
    home = Path(lessoncut.__file__).parent
    assert home.is_relative_to(sys.prefix), f"this is not the installed package: {home}"
    assert (home / "py.typed").exists()
    sample = sum(file.stat().st_size for file in (home / "sample").iterdir())
    assert 0 < sample < MOST_BYTES, f"the sample has {sample} bytes"

    said = subprocess.run([COMMAND, "--version"], capture_output=True, text=True, check=True).stdout
    assert said.strip() == f"lessoncut {metadata.version('lessoncut')}", said
    subprocess.run([sys.executable, "-m", "lessoncut", "--help"], capture_output=True, check=True)

    subprocess.run([COMMAND, "demo"], check=True)
    lesson = Path("lessoncut-demo", "lesson")
    found = json.loads((lesson / "analysis.json").read_text(encoding="utf-8"))
    assert found["schema"] == "lessoncut.analysis/1"
    assert {one["kind"] for one in found["passes"]} == {"model", "repeat"}
    listed = json.loads(subprocess.run([COMMAND, "outputs", "--json"], capture_output=True, check=True).stdout)
    missing = [one["file"] for one in listed["outputs"] if not (lesson / "outputs" / one["file"]).exists()]
    assert not missing, f"not exported: {missing}"
    review(lesson)
    print("The wheel does the whole job.")


def review(lesson: Path) -> None:
    """The page comes from the wheel: itself, all that it loads, the lesson, and the outline of its sound."""
    server = subprocess.Popen([COMMAND, "review", lesson, "--no-browser"], stdout=subprocess.PIPE, text=True)
    try:
        assert server.stdout
        address = server.stdout.readline().strip()
        browser = build_opener(HTTPCookieProcessor())
        for attempt in range(100):
            try:
                page = browser.open(address).read().decode()
                break
            except URLError:
                assert attempt < 99, "the server does not answer"
                time.sleep(0.1)
        origin = address.partition("/?")[0]
        parts = sorted(set(re.findall(r'(?:href|src)="(/[^"]+)"', page)))
        assert {"/static/main.js", "/static/review.css", "/state"} <= set(parts), parts
        for part in [*parts, "/peaks", "/take"]:
            with browser.open(origin + part) as answer:
                kind = answer.headers.get_content_type()
                assert answer.status == 200 and answer.read(), part
                assert not part.endswith(".js") or kind == "text/javascript", f"{part} is {kind}"
                assert not part.endswith(".css") or kind == "text/css", f"{part} is {kind}"
    finally:
        server.send_signal(signal.SIGINT)
        server.wait(30)


if __name__ == "__main__":
    main()
