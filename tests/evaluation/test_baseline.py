"""The baseline does what an afternoon script would: right on a tidy hearing, lost without the pauses."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from tests.evaluation.baseline import Heard, analysis, in_passes, pieces_of, rows_of
from tests.evaluation.scores import evaluate

_SCRIPT = """# The bus

## Welcome

Hello and welcome.

## The text {.passage}

- The **bus** is late.
- We wait at the ==corner==.
- I do.

## Goodbye

Goodbye for now.
"""


def _words(*spoken: tuple[float, str]) -> list[Heard]:
    """Each text begins at its time; a word takes 0.3 s."""
    return [
        Heard(word, start_s + 0.3 * at, start_s + 0.3 * at + 0.3)
        for start_s, text in spoken
        for at, word in enumerate(text.split())
    ]


def _analysed(*spoken: tuple[float, str]) -> dict[str, Any]:
    rows = rows_of(_SCRIPT)
    return analysis(rows, in_passes(pieces_of(_words(*spoken), rows), rows), Path("take.wav"), 60.0)


def test_rows_of_a_script() -> None:
    rows = rows_of(_SCRIPT)
    assert [row.text for row in rows] == [
        "Hello and welcome.",
        "The bus is late.",
        "We wait at the corner.",
        "I do.",
        "Goodbye for now.",
    ]
    assert [row.in_passage for row in rows] == [False, True, True, True, False]


def test_a_tidy_hearing() -> None:
    told = _analysed(
        (1, "Hello and welcome."),
        (4, "The bus is late."),
        (7, "We wait"),
        (9, "We wait at the corner."),
        (12, "I do."),
        (15, "The bus is late."),
        (18, "The bus is late."),
        (22, "Let me drink some water."),
        (26, "I do."),
        (30, "Goodbye for now."),
    )
    assert [(item["kind"], item["start_s"]) for item in told["passes"]] == [("model", 4.0), ("repeat", 15.0)]
    assert [(item["kind"], item["line"], item["pass"]) for item in told["findings"]] == [
        ("false_start", "L003", "P1"),
        ("repeated_line", "L002", "P2"),
        ("ad_lib", None, None),
        ("dropped_line", "L003", "P2"),
    ]
    assert not evaluate(told, told).confusions


def test_lines_heard_without_a_pause_between_are_lost() -> None:
    told = _analysed((4, "the bus is late we wait at the corner I do"))
    assert [reading for reading in told["readings"] if reading["kept"]] == []


def test_a_single_line_picked_up_later_is_not_the_model_reading() -> None:
    told = _analysed(
        (4, "The bus is late."),
        (7, "We wait at the corner."),
        (10, "I do."),
        (15, "The bus is late."),
        (20, "We wait at the corner."),
        (26, "I do."),
        (30, "The bus is late."),
    )
    assert [item["kind"] for item in told["passes"]] == ["model", "repeat", "repeat"]
