"""Generates lessons, has them analysed, scores the analyses, and fails below the thresholds.

``python -m tests.evaluation.run --seeds 1-12 --baseline``; ``--seeds fresh:12`` draws twelve seeds nobody has seen.
Exit code 0 when every bar in ``thresholds.json`` is reached, 1 when not, 2 when something is missing.
"""

from __future__ import annotations

import argparse
import json
import math
import resource
import secrets
import shlex
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any, get_args

from lessoncut.errors import LessonFolderError
from lessoncut.store import holds_lesson
from tests.evaluation.contract import ContractError
from tests.evaluation.finished import Finished, finished, finished_metrics
from tests.evaluation.generate import lesson_id, write_lesson
from tests.evaluation.report import as_json, confusion_list, pooled, reliability, reliability_table, shortfalls, table
from tests.evaluation.scores import Score, evaluate
from tests.evaluation.texts import Family
from tests.evaluation.voices import cache_folder, missing_engines

_OURS = f"{shlex.quote(sys.executable)} -m lessoncut analyze {{take}} {{script}} --lesson {{lesson}}"
_BASELINE = f"{shlex.quote(sys.executable)} -m tests.evaluation.baseline {{take}} {{script}} --lesson {{lesson}}"

MOST_FAULTS_SHOWN = 12


@dataclass(frozen=True)
class Outcome:
    """All lessons under one way of analysing. ``failures`` are lessons it wrote no valid analysis for."""

    scores: dict[str, Score]
    finished: dict[str, Finished]
    """Of the lessons whose way of analysing leaves a lesson folder."""
    failures: dict[str, str]
    cpu_s: float
    wall_s: float
    take_s: float


def seeds_of(text: str) -> list[int]:
    """``1-12``, ``3,7,20-25`` or ``fresh:12``."""
    if text.startswith("fresh:"):
        return sorted(secrets.randbelow(1_000_000_000) + 1_000_000 for _ in range(int(text.removeprefix("fresh:"))))
    seeds: list[int] = []
    for part in text.split(","):
        first, _, last = part.partition("-")
        seeds += range(int(first), int(last or first) + 1)
    return seeds


def lessons(folder: Path, family: Family, seeds: list[int]) -> list[Path]:
    """The lessons' folders; what is there already is not generated again."""
    out = []
    for seed in seeds:
        own = folder / lesson_id(family, seed)
        out.append(own if (own / "truth.json").is_file() else write_lesson(folder, family, seed))
    return out


def analysed(lesson: Path, command: str, way: str) -> tuple[dict[str, Any] | None, str]:
    """The analysis that the command wrote, or None and why there is none."""
    truth = json.loads((lesson / "truth.json").read_text(encoding="utf-8"))
    folder = lesson / way
    (folder / "analysis.json").unlink(missing_ok=True)
    places = {"take": lesson / truth["take"]["files"][0], "script": lesson / "script.md", "lesson": folder}
    words = shlex.split(command)
    for name, path in places.items():
        words = [word.replace(f"{{{name}}}", str(path)) for word in words]
    done = subprocess.run(words, capture_output=True, text=True, check=False)
    if done.returncode:
        return None, f"exit code {done.returncode}: {(done.stderr or done.stdout).strip()[-400:]}"
    if not (folder / "analysis.json").is_file():
        return None, "wrote no analysis.json"
    loaded: dict[str, Any] = json.loads((folder / "analysis.json").read_text(encoding="utf-8"))
    return loaded, ""


def nothing_found(truth: dict[str, Any]) -> dict[str, Any]:
    """The analysis that a failed run is scored as: everything missed."""
    return {
        "schema": truth["schema"],
        "take": truth["take"],
        "lines": truth["lines"],
        "passes": [],
        "readings": [],
        "findings": [],
    }


def outcome(folders: list[Path], command: str, way: str, reuse: bool = False) -> Outcome:
    scores: dict[str, Score] = {}
    lessons_made: dict[str, Finished] = {}
    failures: dict[str, str] = {}
    costs: list[dict[str, float]] = []
    take_s = 0.0
    for lesson in folders:
        truth = json.loads((lesson / "truth.json").read_text(encoding="utf-8"))
        take_s += truth["take"]["duration_s"]
        written, cost = lesson / way / "analysis.json", lesson / way / "cost.json"
        if reuse and written.is_file():
            estimate, why = json.loads(written.read_text(encoding="utf-8")), ""
        else:
            before, started = _used_s(), time.monotonic()
            estimate, why = analysed(lesson, command, way)
            spent = {"cpu_s": _used_s() - before, "wall_s": time.monotonic() - started}
            cost.parent.mkdir(exist_ok=True)
            cost.write_text(json.dumps(spent) + "\n", encoding="utf-8")
        costs.append(json.loads(cost.read_text(encoding="utf-8")) if cost.is_file() else {})
        try:
            score = evaluate(truth, estimate if estimate is not None else nothing_found(truth))
        except ContractError as error:
            why, score = str(error), evaluate(truth, nothing_found(truth))
        scores[lesson.name] = score
        if why:
            failures[lesson.name] = why
        elif holds_lesson(lesson / way):
            try:
                lessons_made[lesson.name] = finished(lesson / way, truth)
            except LessonFolderError as error:  # with --reuse, of another version
                print(f"{lesson.name}: {error}", file=sys.stderr)
        print(
            f"{way} {lesson.name} ({truth['take']['duration_s']:.0f} s, {truth['voice']}):"
            f" {why or f'{len(score.confusions)} faults'}",
            file=sys.stderr,
        )
    cpu_s, wall_s = (sum(cost.get(name, math.nan) for cost in costs) for name in ("cpu_s", "wall_s"))
    return Outcome(scores, lessons_made, failures, cpu_s, wall_s, take_s)


def _used_s() -> float:
    """Processor time of all analyses so far."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def metrics_of(result: Outcome) -> dict[str, float]:
    minutes = result.take_s / 60
    return {
        **pooled(list(result.scores.values())),
        **finished_metrics(list(result.finished.values())),
        "failed_lessons": len(result.failures),
        "cpu_s_per_minute": result.cpu_s / minutes,
        "wall_s_per_minute": result.wall_s / minutes,
    }


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--seeds", default="1-12", help="1-12, or 3,7,20-25, or fresh:12")
    parser.add_argument("--family", choices=get_args(Family), default="dev", help="which texts and voices")
    parser.add_argument("--out", type=Path, default=cache_folder() / "lessons", help="where lessons are kept")
    parser.add_argument("--baseline", action="store_true", help="score the baseline beside it")
    parser.add_argument("--only-baseline", action="store_true", help="score nothing but the baseline")
    parser.add_argument("--analyze-command", default=_OURS, help="with {take}, {script} and {lesson} in it")
    parser.add_argument("--reuse", action="store_true", help="score the analyses that are there already")
    parser.add_argument("--json", type=Path, help="write metrics, reliability and confusions to this file")
    return parser


def main() -> int:
    chosen = _parser().parse_args()
    if missing_engines():
        print(f"these speech engines are missing: {', '.join(missing_engines())}", file=sys.stderr)
        return 2
    seeds = seeds_of(chosen.seeds)
    print(f"family {chosen.family}, seeds {','.join(map(str, seeds))}")
    folders = lessons(chosen.out, chosen.family, seeds)
    results: dict[str, Outcome] = {}
    if not chosen.only_baseline:
        results["lessoncut"] = outcome(folders, chosen.analyze_command, "lessoncut", chosen.reuse)
    if chosen.baseline or chosen.only_baseline:
        results["baseline"] = outcome(folders, _BASELINE, "baseline", chosen.reuse)
    for way, result in results.items():
        print(f"\n== faults of {way}")
        print(
            "\n".join(
                confusion_list(name, score) for name, score in result.scores.items() if name not in result.failures
            )
        )
        for name, made in result.finished.items():
            print("\n".join(f"{name}: {fault.kind}: {fault.says}" for fault in made.faults[:MOST_FAULTS_SHOWN]))
        print(f"\n== confidence of {way}")
        print(reliability_table(reliability(list(result.scores.values()))))
    metrics = {way: metrics_of(result) for way, result in results.items()}
    print("\n== scores")
    print(table(metrics))
    if chosen.json is not None:
        report: dict[str, Any] = {
            way: as_json(result.scores, metrics[way]) | {"failures": result.failures} for way, result in results.items()
        }
        truths = [json.loads((own / "truth.json").read_text(encoding="utf-8")) for own in folders]
        report["of"] = {
            "family": chosen.family,
            "seeds": ",".join(map(str, seeds)),
            "voices": [truth["voice"] for truth in truths],
            "without_fault": sum(truth["clean"] for truth in truths),
            "take_minutes": next(iter(results.values())).take_s / 60,
        }
        chosen.json.write_text(json.dumps(report, indent=1, allow_nan=False) + "\n", encoding="utf-8")
    main_way = next(iter(results))
    first = results[main_way]
    failed = [f"{name} failed: {why}" for name, why in first.failures.items()]
    if chosen.analyze_command == _OURS and not chosen.only_baseline:
        unmade = first.scores.keys() - first.finished.keys() - first.failures.keys()
        failed += [f"{name} left no lesson that opens: its files were not seen" for name in sorted(unmade)]
    short = failed + shortfalls(metrics[main_way])
    print(f"\n{main_way} reaches every bar" if not short else f"\n{main_way} falls short:")
    print("\n".join(f"  {item}" for item in short))
    return 1 if short else 0


if __name__ == "__main__":
    sys.exit(main())
