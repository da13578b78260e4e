"""What it costs to follow scripts of many lines; see ``following``, which is asked here."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from tests.benchmarks.following import WAYS
from tests.benchmarks.measuring import cost_of

LINES = (250, 500, 2000)
MOST_TIMES = 25
MOST_MB = 500


def measure(folder: Path) -> list[dict[str, Any]]:
    found = []
    for lines in LINES:
        one: dict[str, Any] = {"lines": lines}
        for way in WAYS:
            said = folder / f"{way}.json"
            cost = cost_of(["-m", "tests.benchmarks.following", str(lines), way], into=said)
            told = json.loads(said.read_text(encoding="utf-8"))
            if told["readings"] != told["told"]:
                raise ValueError(f"{way} finds {told['readings']} of {told['told']} readings")
            one |= {"words": told["words"], f"{way}_cpu_s": round(told["cpu_s"], 3)}
            if way == "ours":  # the baseline holds less than the process that began it
                one["peak_mb"] = round(cost.peak_mb)
        found.append(one)
    return found


def page(found: list[dict[str, Any]]) -> str:
    rows = "\n".join(
        f"| {one['lines']} | {one['words']} | {one['ours_cpu_s']:.2f} | {one['plain_cpu_s']:.2f}"
        f" | {one['ours_cpu_s'] / one['plain_cpu_s']:.1f} | {one['peak_mb']} |"
        for one in found
    )
    return f"""\
## Long scripts

Nothing is heard here: how a take was read is told in words, every line twice, every eleventh broken off once more. The
matching and its findings, with an aligner that knows the answer, against the plain baseline of
[How right it is](evaluation.md) on the same words, which compares what stands between two pauses with every line.
Both find every whole reading. CPU seconds without the start; peak MB of our whole process.

| lines of script | words heard | CPU s | baseline, CPU s | ratio | peak MB |
|---:|---:|---:|---:|---:|---:|
{rows}

No more than {MOST_TIMES} times the baseline, and no more than {MOST_MB} MB, are wanted.
"""
