"""The installed wheel does the whole job, away from the source: python smoke.py"""

from __future__ import annotations

import json
import subprocess
import sys
from importlib import metadata
from pathlib import Path

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
    print("The wheel does the whole job.")


if __name__ == "__main__":
    main()
