"""Scores of many lessons pooled, held against the thresholds, and shown as text."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import asdict
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np

from tests.evaluation.finished import FAULTS
from tests.evaluation.scores import SCORED_KINDS, Counts, Score

THRESHOLDS = Path(__file__).parent / "thresholds.json"
CLIPPED_MS = 40.0
OF_FILES = (*FAULTS, "caption_rules_broken_share")
_CONFIDENCE_EDGES = (0.0, 0.5, 0.6, 0.7, 0.8, 0.85, 0.9, 0.95, 1.0)
Metrics = dict[str, float]


def pooled(scores: Sequence[Score]) -> Metrics:
    """One number for each metric over all lessons; NaN where there is nothing to measure."""
    errors = [value for score in scores for value in score.edges.errors_ms]
    inside = [value for score in scores for value in score.edges.inside_ms]
    core = [value for score in scores for value in score.edges.core_inside_ms]
    words = [value for score in scores for value in score.word_errors_ms]
    passes = sum((score.passes for score in scores), Counts())
    kept = sum((score.kept for score in scores), Counts())
    out: Metrics = {
        "lessons": len(scores),
        "pass_f1": passes.f1,
        "pass_iou_mean": _mean([value for score in scores for value in score.pass_iou]),
        "kept_recall": kept.recall,
        "kept_precision": kept.precision,
        "kept_found": kept.found,
        "kept_missed": kept.missed,
        "kept_invented": kept.invented,
        "edge_median_ms": _quantile(errors, 0.5),
        "edge_p95_ms": _quantile(errors, 0.95),
        "edge_worst_ms": _quantile(errors, 1.0),
        "edge_inside_40ms_share": _mean([value > CLIPPED_MS for value in inside]),
        "core_inside_share": _mean([value > 0 for value in core]),
    }
    for kind in SCORED_KINDS:
        counts = sum((score.findings[kind] for score in scores), Counts())
        out |= {
            f"{kind}_precision": counts.precision,
            f"{kind}_recall": counts.recall,
            f"{kind}_f1": counts.f1,
            f"{kind}_found": counts.found,
            f"{kind}_missed": counts.missed,
            f"{kind}_invented": counts.invented,
        }
    return out | {
        "phantom_words": sum(score.phantom_words for score in scores),
        "kept_words": sum(score.kept_words for score in scores),
        "word_median_ms": _quantile(words, 0.5),
        "word_p95_ms": _quantile(words, 0.95),
        "stray_texts": sum(score.stray_texts for score in scores),
        "stray_texts_over_speech": sum(score.stray_texts_over_speech for score in scores),
        "clean_false_findings": sum(score.clean_false for score in scores),
        "calibration_error": _calibration_error(reliability(scores)),
    }


def _mean(values: Sequence[float]) -> float:
    return float(np.mean(values)) if values else float("nan")


def _quantile(values: Sequence[float], share: float) -> float:
    return float(np.quantile(values, share)) if values else float("nan")


def reliability(scores: Sequence[Score]) -> list[dict[str, float]]:
    """Findings by stated confidence: how many, what they said on average, and the share that was right."""
    stated = [pair for score in scores for pair in score.confidences]
    rows = []
    for low, high in pairwise(_CONFIDENCE_EDGES):
        inside = [(value, right) for value, right in stated if low <= value < high or value == high == 1.0]
        if inside:
            rows.append(
                {
                    "from": low,
                    "to": high,
                    "findings": len(inside),
                    "stated": _mean([value for value, _ in inside]),
                    "right": _mean([right for _, right in inside]),
                }
            )
    return rows


def _calibration_error(rows: Sequence[dict[str, float]]) -> float:
    """Expected calibration error (Naeini et al. 2015, from memory): mean gap, weighted by count."""
    total = sum(row["findings"] for row in rows)
    return sum(row["findings"] * abs(row["stated"] - row["right"]) for row in rows) / total if total else float("nan")


def shortfalls(metrics: Metrics, path: Path = THRESHOLDS) -> list[str]:
    """Every bar that the metrics do not reach, in words. A metric that is NaN reaches no bar.

    Metrics of finished files are only there for analyses that leave a lesson folder.
    """
    bars: dict[str, dict[str, float]] = json.loads(path.read_text(encoding="utf-8"))
    out = []
    for name, bar in bars.items():
        if name not in metrics and name in OF_FILES:
            continue
        value = metrics[name]
        if "least" in bar and not value >= bar["least"]:
            out.append(f"{name} is {value:.4g}, at least {bar['least']:g} is asked")
        if "most" in bar and not value <= bar["most"]:
            out.append(f"{name} is {value:.4g}, at most {bar['most']:g} is asked")
    return out


def table(columns: dict[str, Metrics]) -> str:
    """The metrics of several analyses side by side."""

    def shown(value: float) -> str:
        return f"{value:.0f}" if float(value).is_integer() and abs(value) >= 2 else f"{value:.4g}"

    names = list(columns)

    def counts(metrics: Metrics, stem: str) -> str:
        return "  ".join(f"{metrics[f'{stem}_{part}']:.0f}" for part in ("found", "missed", "invented"))

    rows = [["", *names], ["found / missed / invented", *("" for _ in names)]]
    rows += [[f"  {stem}", *(counts(columns[name], stem) for name in names)] for stem in ("kept", *SCORED_KINDS)]
    first = next(iter(columns.values()))
    single = [key for key in first if not key.endswith(("_found", "_missed", "_invented"))]
    rows += [[key, *(shown(columns[name][key]) if key in columns[name] else "" for name in names)] for key in single]
    width = max(len(row[0]) for row in rows)
    widths = [max(len(row[at + 1]) for row in rows) for at in range(len(names))]
    return "\n".join(
        "  ".join(
            [row[0].ljust(width), *(cell.rjust(size) for cell, size in zip(row[1:], widths, strict=True))]
        ).rstrip()
        for row in rows
    )


def reliability_table(rows: Sequence[dict[str, float]]) -> str:
    head = "confidence    findings  stated  right"
    body = [
        f"{row['from']:.2f} to {row['to']:.2f}  {row['findings']:8.0f}  {row['stated']:6.2f}  {row['right']:5.2f}"
        for row in rows
    ]
    return "\n".join([head, *body])


def confusion_list(name: str, score: Score) -> str:
    """Everything missed or invented in one lesson, in order of time."""
    rows = [f"{name}: {len(score.confusions)} faults"]
    rows += [
        f"  {miss.start_s:8.2f} {miss.end_s:8.2f}  {miss.fault:8s} {miss.kind:14s} {miss.line or '-':5s}"
        f" {miss.at_pass or '-':9s} {miss.note[:60]}"
        for miss in score.confusions
    ]
    return "\n".join(rows)


def as_json(scores: dict[str, Score], metrics: Metrics) -> dict[str, Any]:
    """The pooled metrics (null for NaN), the reliability table, and each lesson's counts and confusions."""
    return {
        "metrics": {name: None if math.isnan(value) else value for name, value in metrics.items()},
        "reliability": reliability(list(scores.values())),
        "lessons": {
            name: {
                "kept": asdict(score.kept),
                "passes": asdict(score.passes),
                "findings": {kind: asdict(counts) for kind, counts in score.findings.items()},
                "confusions": [asdict(miss) for miss in score.confusions],
            }
            for name, score in scores.items()
        },
    }
