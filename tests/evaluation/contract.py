"""Reads and validates an analysis or a truth file: JSON dicts to records, every fault named with its path."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from difflib import SequenceMatcher
from typing import Any

PASS_KINDS = ("model", "repeat")
READING_KINDS = ("full", "partial")
FINDING_KINDS = ("repeated_line", "false_start", "dropped_line", "misread", "ad_lib", "stray_text", "stray_sound")
_SCHEMA = "lessoncut.analysis/1"
_LATE_S = 1.0
"""A time may lie this far after the take's end: decoders differ about padding."""


class ContractError(ValueError):
    """The file does not keep to the analysis contract; the message ends in the path."""


@dataclass(frozen=True)
class Stretch:
    """``[start_s, end_s]`` in take time."""

    start_s: float
    end_s: float

    @property
    def length_s(self) -> float:
        return self.end_s - self.start_s

    def overlap_s(self, other: Stretch) -> float:
        return max(0.0, min(self.end_s, other.end_s) - max(self.start_s, other.start_s))

    def distance_s(self, other: Stretch) -> float:
        return max(0.0, self.start_s - other.end_s, other.start_s - self.end_s)

    def iou(self, other: Stretch) -> float:
        """Intersection over union."""
        shared = self.overlap_s(other)
        union = self.length_s + other.length_s - shared
        return shared / union if union > 0 else 0.0


@dataclass(frozen=True)
class ToldWord(Stretch):
    text: str


@dataclass(frozen=True)
class ToldPass(Stretch):
    id: str
    kind: str


@dataclass(frozen=True)
class ToldReading(Stretch):
    """``core`` is where the speech is loud (truth only)."""

    id: str
    line: str
    at_pass: str | None
    kind: str
    kept: bool
    words: tuple[ToldWord, ...]
    core: Stretch | None = None


@dataclass(frozen=True)
class ToldFinding(Stretch):
    id: str
    kind: str
    line: str | None
    at_pass: str | None
    confidence: float | None = None
    accepts: tuple[str, ...] = ()
    optional: bool = False
    says: str = ""


@dataclass(frozen=True)
class ToldOther(Stretch):
    """What calls for no finding: ``learner`` or ``held``."""

    kind: str


@dataclass(frozen=True)
class Told:
    """What an analysis, or the truth, tells about one take. ``lines`` maps ids to texts in script order."""

    duration_s: float
    lines: dict[str, str]
    passes: tuple[ToldPass, ...]
    readings: tuple[ToldReading, ...]
    findings: tuple[ToldFinding, ...]
    others: tuple[ToldOther, ...] = ()
    passage: frozenset[str] = field(default=frozenset())

    def pass_key(self, pass_id: str | None) -> tuple[str, int] | None:
        """A pass by its kind and its place among those of its kind, which two files can agree on."""
        if pass_id is None:
            return None
        chosen = next(item for item in self.passes if item.id == pass_id)
        alike = sorted((item for item in self.passes if item.kind == chosen.kind), key=lambda item: item.start_s)
        return chosen.kind, alike.index(chosen)


def _need(record: Any, name: str, kind: type | tuple[type, ...], path: str) -> Any:
    if not isinstance(record, dict):
        raise ContractError(f"expected an object @ {path}")
    if name not in record:
        raise ContractError(f"missing @ {path}.{name}")
    value = record[name]
    if not isinstance(value, kind) or (isinstance(value, bool) and kind is not bool):
        raise ContractError(f"unexpected {type(value).__name__} @ {path}.{name}")
    return value


def _one_of(value: str, options: tuple[str, ...], path: str) -> str:
    if value not in options:
        raise ContractError(f"{value!r} is none of {', '.join(options)} @ {path}")
    return value


def _stretch(record: Any, duration_s: float, path: str, prefix: str = "") -> Stretch:
    start_s = float(_need(record, f"{prefix}start_s", (int, float), path))
    end_s = float(_need(record, f"{prefix}end_s", (int, float), path))
    if not (math.isfinite(start_s) and math.isfinite(end_s)):
        raise ContractError(f"a time is not finite @ {path}")
    if end_s < start_s:
        raise ContractError(f"ends ({end_s}) before it starts ({start_s}) @ {path}")
    if start_s < 0 or end_s > duration_s + _LATE_S:
        raise ContractError(f"{start_s} to {end_s} lies outside the take (0 to {duration_s}) @ {path}")
    return Stretch(start_s, end_s)


def _text_or_none(record: Any, name: str, path: str) -> str | None:
    value = _need(record, name, (str, type(None)), path)
    return None if value is None else str(value)


def _known(value: str | None, known: set[str], what: str, path: str) -> None:
    if value is not None and value not in known:
        raise ContractError(f"no such {what}: {value} @ {path}")


def _unique(ids: list[str], path: str) -> None:
    twice = sorted({name for name in ids if ids.count(name) > 1})
    if twice:
        raise ContractError(f"used twice: {', '.join(twice)} @ {path}")


def _reading(record: Any, duration_s: float, path: str) -> ToldReading:
    span = _stretch(record, duration_s, path)
    words = []
    for at, word in enumerate(_need(record, "words", list, path)):
        where = f"{path}.words[{at}]"
        heard = _stretch(word, duration_s, where)
        words.append(ToldWord(heard.start_s, heard.end_s, _need(word, "text", str, where)))
    core = _stretch(record, duration_s, path, "core_") if "core_start_s" in record else None
    return ToldReading(
        span.start_s,
        span.end_s,
        _need(record, "id", str, path),
        _need(record, "line", str, path),
        _text_or_none(record, "pass", path),
        _one_of(_need(record, "kind", str, path), READING_KINDS, f"{path}.kind"),
        _need(record, "kept", bool, path),
        tuple(words),
        core,
    )


def _finding(record: Any, duration_s: float, path: str) -> ToldFinding:
    span = _stretch(record, duration_s, path)
    confidence = None
    if "confidence" in record:
        confidence = float(_need(record, "confidence", (int, float), path))
        if not 0 <= confidence <= 1:
            raise ContractError(f"{confidence} is not between 0 and 1 @ {path}.confidence")
    says = record.get("says") or record.get("said") or record.get("sound") or ""
    return ToldFinding(
        span.start_s,
        span.end_s,
        _need(record, "id", str, path),
        _one_of(_need(record, "kind", str, path), FINDING_KINDS, f"{path}.kind"),
        _text_or_none(record, "line", path),
        _text_or_none(record, "pass", path),
        confidence,
        tuple(record.get("accepts", ())),
        bool(record.get("optional", False)),
        str(says),
    )


def told(record: Any) -> Told:
    """The analysis as records. Raises ContractError."""
    if _need(record, "schema", str, "$") != _SCHEMA:
        raise ContractError(f"expected {_SCHEMA} @ $.schema")
    duration_s = float(_need(_need(record, "take", dict, "$"), "duration_s", (int, float), "$.take"))
    lines = {}
    for at, line in enumerate(_need(record, "lines", list, "$")):
        lines[str(_need(line, "id", str, f"$.lines[{at}]"))] = str(_need(line, "text", str, f"$.lines[{at}]"))
    passes = []
    for at, item in enumerate(_need(record, "passes", list, "$")):
        span = _stretch(item, duration_s, f"$.passes[{at}]")
        kind = _one_of(_need(item, "kind", str, f"$.passes[{at}]"), PASS_KINDS, f"$.passes[{at}].kind")
        passes.append(ToldPass(span.start_s, span.end_s, _need(item, "id", str, f"$.passes[{at}]"), kind))
    readings = tuple(
        _reading(item, duration_s, f"$.readings[{at}]") for at, item in enumerate(_need(record, "readings", list, "$"))
    )
    findings = tuple(
        _finding(item, duration_s, f"$.findings[{at}]") for at, item in enumerate(_need(record, "findings", list, "$"))
    )
    others = []
    for at, item in enumerate(record.get("others", ())):
        span = _stretch(item, duration_s, f"$.others[{at}]")
        others.append(ToldOther(span.start_s, span.end_s, _need(item, "kind", str, f"$.others[{at}]")))
    out = Told(
        duration_s,
        lines,
        tuple(passes),
        readings,
        findings,
        tuple(others),
        frozenset(line["id"] for line in record["lines"] if line.get("in_passage")),
    )
    _cross_checked(out)
    return out


def _cross_checked(out: Told) -> None:
    pass_ids = {item.id for item in out.passes}
    for name, items in (("passes", out.passes), ("readings", out.readings), ("findings", out.findings)):
        _unique([item.id for item in items], f"$.{name}")
    named = [(f"$.readings[{at}]", item.line, item.at_pass) for at, item in enumerate(out.readings)]
    places = [(f"$.findings[{at}]", item.line, item.at_pass) for at, item in enumerate(out.findings)]
    for path, line, at_pass in (*named, *places):
        _known(line, set(out.lines), "line", f"{path}.line")
        _known(at_pass, pass_ids, "pass", f"{path}.pass")
    for at, reading in enumerate(out.readings):
        if reading.kept and reading.kind == "partial":
            raise ContractError(f"a partial reading cannot be kept @ $.readings[{at}].kept")
    kept = [f"{reading.line} in {reading.at_pass}" for reading in out.readings if reading.kept]
    _unique(kept, "$.readings (kept)")


def plain(text: str) -> str:
    """Lower-case words and digits only, so that spellings of one line compare equal."""
    return " ".join(re.findall(r"[a-z0-9']+", text.lower().replace("’", "'")))


def line_map(truth: Told, estimate: Told) -> dict[str, str]:
    """The estimate's line ids to the truth's, by their texts in order; lines without a counterpart are left out."""
    own, theirs = list(truth.lines), list(estimate.lines)
    matcher = SequenceMatcher(
        None,
        [plain(truth.lines[name]) for name in own],
        [plain(estimate.lines[name]) for name in theirs],
        autojunk=False,
    )
    return {
        theirs[block.b + step]: own[block.a + step]
        for block in matcher.get_matching_blocks()
        for step in range(block.size)
    }
