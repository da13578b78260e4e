"""Measures everything and writes docs/benchmarks.md: ``python -m tests.benchmarks [--only NAME]``.

Wants a machine with nothing else to do: threads that wait for a core spend CPU time, too. What was measured lies in
``figures.json``; the page is made from that, and lacks what was never measured.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import tempfile
from importlib.metadata import version
from pathlib import Path
from typing import Any

from tests.benchmarks import batching, cutting, hearing, length, matching, previewing, teaching

DOCS = Path(__file__).parents[2] / "docs"
PAGE = DOCS / "benchmarks.md"
PLOT = DOCS / "images" / "long-takes.svg"
FIGURES = Path(__file__).with_name("figures.json")
SORTS: dict[str, Any] = {
    "hearing": hearing,
    "length": length,
    "matching": matching,
    "teaching": teaching,
    "batching": batching,
    "cutting": cutting,
    "previewing": previewing,
}

HEAD = """\
# What it costs

This page is made by `python -m tests.benchmarks`, a part of it with `--only {names}`.
Everything is a comparison on one machine; CPU time is that of whole processes and their children. Takes are made of
invented lines in a free voice (`tests/benchmarks/takes.py`, which needs flite).
"""


def written_page(figures: dict[str, Any]) -> str:
    parts = [HEAD.format(names="|".join(SORTS))]
    for name, sort in SORTS.items():
        if name in figures:
            parts += [sort.page(figures[name]["found"]), f"Measured with {figures[name]['with']}.\n"]
    return "\n".join(parts)


def machine() -> str:
    packages = ", ".join(f"{name} {version(name)}" for name in ("faster-whisper", "ctranslate2", "numpy"))
    return f"{os.cpu_count()} cores ({platform.machine()}), Python {platform.python_version()}, {packages}"


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--only", choices=SORTS, action="append", help="just this; may be given several times")
    asked = options.parse_args()
    figures: dict[str, Any] = json.loads(FIGURES.read_text(encoding="utf-8")) if FIGURES.exists() else {}
    for name in asked.only or SORTS:
        with tempfile.TemporaryDirectory() as room:
            figures[name] = {"with": machine(), "found": SORTS[name].measure(Path(room))}
        print(name, figures[name]["found"], flush=True)
        FIGURES.write_text(json.dumps(figures, indent=1) + "\n", encoding="utf-8")
    PAGE.write_text(written_page(figures), encoding="utf-8")
    if "length" in figures:
        PLOT.write_text(length.plot(figures["length"]["found"]), encoding="utf-8")


if __name__ == "__main__":
    main()
