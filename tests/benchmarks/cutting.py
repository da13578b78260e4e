"""What the export's copied picture costs; see ``copying``, which is asked here."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from tests.benchmarks.measuring import cost_of


def measure(folder: Path) -> dict[str, Any]:
    folder.mkdir(parents=True, exist_ok=True)
    cost_of(["-m", "tests.benchmarks.copying"], into=folder / "said.txt")
    return {"said": (folder / "said.txt").read_text(encoding="utf-8").splitlines()}


def page(found: dict[str, Any]) -> str:
    said = "\n".join(found["said"])
    return f"""\
## The exported picture

Whole groups of pictures are copied, and only what a cut runs through is encoded: against one full re-encode of the
same cut list, and against ffmpeg copying the whole take's picture, which cuts nothing and checks nothing.

```text
{said}
```
"""
