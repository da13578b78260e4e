"""Writes lessons with their truth: ``python -m tests.evaluation.generate --out DIR --seed 1 --count 40``."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import get_args

from tests.evaluation.assemble import performed
from tests.evaluation.draw import draw
from tests.evaluation.room import recorded, write_take
from tests.evaluation.signals import RATE
from tests.evaluation.texts import Family
from tests.evaluation.truth import truth
from tests.evaluation.voices import missing_engines


def lesson_id(family: Family, seed: int) -> str:
    return f"{family}-{seed:04d}"


def write_lesson(folder: Path, family: Family, seed: int) -> Path:
    """The lesson's own folder under ``folder``, holding the take, ``script.md`` and ``truth.json``."""
    plan = draw(family, seed)
    own = folder / plan.id
    own.mkdir(parents=True, exist_ok=True)
    clean, events = performed(plan)
    take = write_take(recorded(clean, plan.room), plan.room, own)
    (own / "script.md").write_text(plan.markdown, encoding="utf-8")
    told = truth(plan, events, take.name, len(clean) / RATE)
    (own / "truth.json").write_text(json.dumps(told, indent=1) + "\n", encoding="utf-8")
    return own


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=Path, required=True, help="folder for the lessons")
    parser.add_argument("--seed", type=int, default=1, help="seed of the first lesson")
    parser.add_argument("--count", type=int, default=1, help="how many lessons, one seed after the other")
    parser.add_argument("--family", choices=get_args(Family), default="dev", help="which texts and voices")
    chosen = parser.parse_args()
    if missing_engines():
        print(f"these speech engines are missing: {', '.join(missing_engines())}", file=sys.stderr)
        return 2
    for seed in range(chosen.seed, chosen.seed + chosen.count):
        print(write_lesson(chosen.out, chosen.family, seed))
    return 0


if __name__ == "__main__":
    sys.exit(main())
