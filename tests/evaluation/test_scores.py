"""The scores against hand-made triples of truth, estimate and score, and against a textbook."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from dataclasses import asdict, replace
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.evaluation.contract import ContractError, line_map, told
from tests.evaluation.report import as_json, pooled, reliability, shortfalls, table
from tests.evaluation.scores import SCORED_KINDS, Counts, evaluate, paired

Record = dict[str, Any]
_TRIPLES = Path(__file__).parent / "triples"


def _read(name: str) -> Record:
    loaded: Record = json.loads((_TRIPLES / name).read_text(encoding="utf-8"))
    return loaded


def _exact() -> Record:
    """The estimate that says just what the truth says."""
    truth = _read("truth.json")
    return {
        **truth,
        "findings": [finding | {"confidence": 1.0} for finding in truth["findings"] if not finding.get("optional")],
    }


def test_precision_recall_and_f1_of_a_textbook_example() -> None:
    """Manning, Raghavan and Schütze, Introduction to Information Retrieval (2008), exercise 8.1, from memory:
    8 relevant and 10 nonrelevant documents retrieved, 20 relevant in the collection: P = 8/18, R = 8/20."""
    counts = Counts(found=8, missed=12, invented=10)
    assert counts.precision == pytest.approx(0.444, abs=5e-4)
    assert counts.recall == pytest.approx(0.4)
    assert counts.f1 == pytest.approx(2 * counts.precision * counts.recall / (counts.precision + counts.recall))
    assert counts.f1 == pytest.approx(0.421, abs=5e-4)


def test_nothing_to_find_and_nothing_invented_is_perfect_but_one_invention_is_not() -> None:
    assert (Counts().precision, Counts().recall, Counts().f1) == (1.0, 1.0, 1.0)
    assert Counts(invented=1).f1 == 0.0


@pytest.mark.parametrize("name", ["typical", "empty"])
def test_triple(name: str) -> None:
    score = evaluate(_read("truth.json"), _read(f"{name}.estimate.json"))
    expected = _read(f"{name}.score.json")
    assert asdict(score.passes) == expected["passes"]
    assert asdict(score.kept) == expected["kept"]
    assert {kind: asdict(counts) for kind, counts in score.findings.items()} == expected["findings"]
    for edge in ("errors_ms", "inside_ms", "core_inside_ms"):
        assert list(getattr(score.edges, edge)) == pytest.approx(expected[edge], abs=1e-6)
    assert list(score.word_errors_ms) == pytest.approx(expected["word_errors_ms"], abs=1e-6)
    for count in ("phantom_words", "kept_words", "stray_texts", "stray_texts_over_speech"):
        assert getattr(score, count) == expected[count]
    assert sorted([value, right] for value, right in score.confidences) == expected["confidences"]
    assert [[miss.fault, miss.kind, miss.start_s] for miss in score.confusions] == expected["faults"]


def test_the_exact_estimate_is_perfect() -> None:
    score = evaluate(_read("truth.json"), _exact())
    metrics = pooled([score])
    assert not score.confusions
    assert all(metrics[name] == 1.0 for name in metrics if name.endswith(("_f1", "_recall", "_precision")))
    assert metrics["edge_worst_ms"] == metrics["word_p95_ms"] == metrics["phantom_words"] == 0
    assert shortfalls(metrics) == []


def _reading(estimate: Record, name: str) -> Record:
    found: Record = next(reading for reading in estimate["readings"] if reading["id"] == name)
    return found


def _lose(estimate: Record, kind: str) -> None:
    estimate["findings"] = [finding for finding in estimate["findings"] if finding["kind"] != kind]


def _invent(estimate: Record, kind: str, line: str | None, at_pass: str | None, start_s: float) -> None:
    estimate["findings"].append(
        {
            "id": "X",
            "kind": kind,
            "line": line,
            "pass": at_pass,
            "start_s": start_s,
            "end_s": start_s + 0.5,
            "confidence": 0.9,
        }
    )


def _keep_the_first(estimate: Record) -> None:
    _reading(estimate, "R6")["kept"] = True
    _reading(estimate, "R7")["kept"] = False


_MUTATIONS: dict[str, tuple[str, Callable[[Record], object]]] = {
    "a pass is lost": (
        "pass_f1",
        lambda e: (
            e["passes"].pop(),
            [item.update({"pass": None}) for item in (*e["readings"], *e["findings"]) if item["pass"] == "P2"],
            _reading(e, "R6").update(kept=False),
        ),
    ),
    "a pass is of the other kind": ("pass_f1", lambda e: e["passes"][0].update(kind="repeat")),
    "a kept reading is lost": ("kept_recall", lambda e: e["readings"].remove(_reading(e, "R5"))),
    "the superseded reading is kept": ("kept_precision", _keep_the_first),
    "a reading is heard in the wrong pass": (
        "kept_recall",
        lambda e: (e["readings"].remove(_reading(e, "R8")), _reading(e, "R5").update({"pass": "P2"})),
    ),
    "a reading is half as long": ("kept_recall", lambda e: _reading(e, "R4").update(end_s=7.9)),
    "a reading starts 60 ms late": ("edge_inside_40ms_share", lambda e: _reading(e, "R4").update(start_s=7.06)),
    "a reading ends 300 ms late": ("edge_worst_ms", lambda e: _reading(e, "R4").update(end_s=9.3)),
    "a reading is cut into its core": ("core_inside_share", lambda e: _reading(e, "R2").update(end_s=5.3)),
    "a word is placed elsewhere": ("word_p95_ms", lambda e: _reading(e, "R2")["words"][1].update(end_s=5.4)),
    "a word stands in silence": (
        "phantom_words",
        lambda e: _reading(e, "R4")["words"].append({"text": "corner", "start_s": 12.0, "end_s": 12.4}),
    ),
    "a missing line is invented": ("dropped_line_f1", lambda e: _invent(e, "dropped_line", "L004", "P2", 28.0)),
    "a retake is invented": ("repeated_line_f1", lambda e: _invent(e, "repeated_line", "L002", "P2", 24.0)),
    "a held sound is called stray": ("stray_sound_f1", lambda e: _invent(e, "stray_sound", None, None, 35.2)),
    "talk is heard where none is": ("ad_lib_f1", lambda e: _invent(e, "ad_lib", None, None, 38.0)),
    "a retake is called a false start": (
        "false_start_precision",
        lambda e: next(finding for finding in e["findings"] if finding["kind"] == "repeated_line").update(
            kind="false_start"
        ),
    ),
    **{f"{kind} is missed": (f"{kind}_recall", partial(_lose, kind=kind)) for kind in SCORED_KINDS},
}


@pytest.mark.parametrize("name", _MUTATIONS)
def test_a_worse_estimate_scores_worse_and_nothing_improves(name: str) -> None:
    metric, spoil = _MUTATIONS[name]
    truth, spoilt = _read("truth.json"), copy.deepcopy(_exact())
    spoil(spoilt)
    good, bad = pooled([evaluate(truth, _exact())]), pooled([evaluate(truth, spoilt)])
    rising = ("_f1", "_recall", "_precision", "_found", "_iou_mean")
    falling = ("_ms", "_share", "_missed", "_invented", "phantom_words")
    assert bad[metric] < good[metric] if metric.endswith(rising) else bad[metric] > good[metric]
    assert all(bad[key] <= good[key] for key in good if key.endswith(rising))
    assert all(bad[key] >= good[key] or np.isnan(bad[key]) for key in good if key.endswith(falling))


def test_findings_on_clean_lessons_are_counted() -> None:
    truth, estimate = _read("truth.json") | {"clean": True}, _exact()
    _invent(estimate, "repeated_line", "L004", "P1", 10.0)
    assert evaluate(truth, estimate).clean_false == 1
    assert shortfalls(pooled([evaluate(truth, estimate)]))


def test_lessons_are_pooled_by_adding_up() -> None:
    """One lesson with 7 kept readings found and one with 6 of 7: 13 of 14, not the mean of two shares by chance."""
    truth = _read("truth.json")
    scores = [evaluate(truth, _exact()), evaluate(truth, _read("typical.estimate.json"))]
    metrics = pooled(scores)
    assert (metrics["kept_found"], metrics["kept_missed"], metrics["kept_invented"]) == (13, 1, 2)
    assert metrics["kept_precision"] == pytest.approx(13 / 15)
    assert metrics["edge_worst_ms"] == pytest.approx(100)
    assert "13  1  2" in table({"both": metrics})
    json.dumps(as_json(dict(zip("ab", scores, strict=True)), metrics), allow_nan=False)


def test_reliability_table_by_hand() -> None:
    """Ten findings stated at 0.9, nine of them right; two at 0.5, none right: gaps of 0 and 0.5, error 1/12."""
    stated = ((0.9, True),) * 9 + ((0.9, False),) + ((0.5, False),) * 2
    score = evaluate(_read("truth.json"), _exact())
    graded = replace(score, confidences=stated)
    rows = reliability([graded])
    assert [(row["findings"], row["stated"], row["right"]) for row in rows] == [
        (2, 0.5, 0.0),
        (10, pytest.approx(0.9), pytest.approx(0.9)),
    ]
    assert pooled([graded])["calibration_error"] == pytest.approx(2 * 0.5 / 12)


def test_an_unmeasured_metric_reaches_no_bar(tmp_path: Path) -> None:
    bars = tmp_path / "bars.json"
    bars.write_text('{"edge_median_ms": {"most": 20}}', encoding="utf-8")
    metrics = pooled([evaluate(_read("truth.json"), _read("empty.estimate.json"))])
    assert len(shortfalls(metrics, bars)) == 1


def test_pairs_are_the_best_in_sum_not_the_best_first() -> None:
    """Taking the greatest gain first would give 10 + 0; the best pairing gives 9 + 8."""
    assert sorted(paired(np.array([[10.0, 9.0], [8.0, 0.0]]))) == [(0, 1), (1, 0)]


def test_lines_are_recognised_by_their_texts() -> None:
    truth, estimate = told(_read("truth.json")), told(_read("typical.estimate.json"))
    assert line_map(truth, estimate) == {"1": "L001", "2": "L002", "3": "L003", "4": "L004", "5": "L005"}
    other = _read("typical.estimate.json")
    other["lines"][1]["text"] = "The bus is"
    assert "2" not in line_map(truth, told(other))


@pytest.mark.parametrize(
    ("spoil", "path"),
    [
        (lambda e: e["readings"][1].update(start_s=9.0), "$.readings[1]"),
        (lambda e: e["readings"][1].update(end_s=400.0), "$.readings[1]"),
        (lambda e: e["readings"][1].update(start_s=float("nan")), "$.readings[1]"),
        (lambda e: e["readings"][2].update({"pass": "P9"}), "$.readings[2].pass"),
        (lambda e: e["readings"][2].update(line="L9"), "$.readings[2].line"),
        (lambda e: e["readings"][2].update(kept=1), "$.readings[2].kept"),
        (lambda e: e["readings"][2].update(kept=True, kind="partial"), "$.readings[2].kept"),
        (lambda e: e["readings"][5].update(kept=True), "$.readings (kept)"),
        (lambda e: e["readings"][1]["words"][0].pop("text"), "$.readings[1].words[0].text"),
        (lambda e: e["findings"][0].update(kind="cough"), "$.findings[0].kind"),
        (lambda e: e["findings"][0].update(confidence=1.5), "$.findings[0].confidence"),
        (lambda e: e["findings"][1].update(id="F1"), "$.findings"),
        (lambda e: e["passes"][0].pop("kind"), "$.passes[0].kind"),
        (lambda e: e.update(schema="other/1"), "$.schema"),
        (lambda e: e.pop("lines"), "$.lines"),
    ],
)
def test_a_broken_analysis_is_refused_with_its_path(spoil: Callable[[Record], object], path: str) -> None:
    estimate = copy.deepcopy(_exact())
    spoil(estimate)
    with pytest.raises(ContractError) as caught:
        evaluate(_read("truth.json"), estimate)
    assert str(caught.value).endswith(f"@ {path}")
