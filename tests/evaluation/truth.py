"""The truth of a lesson in the form of an analysis: see ``truth`` for what is added to that form."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Any, Literal

from tests.evaluation.assemble import Event
from tests.evaluation.plan import Noise, Plan, Said

Record = dict[str, Any]
_EITHER = ("ad_lib", "stray_sound")


def truth(plan: Plan, events: Sequence[Event], take: str, duration_s: float) -> Record:
    """What ``truth.json`` holds: the fields of an analysis, and beside them

    - on a reading ``core_start_s`` and ``core_end_s``: where its speech is loud;
    - ``others``: what is there and calls for no finding: a learner's voice (``learner``), a held sound (``held``);
    - on a finding ``accepts``: the kinds that tell the teacher the same thing (a whisper nobody could read may be
      called a stray sound, laughter may be called talk);
    - on a finding ``optional``: neither missed nor invented (the changed word in a reading that is superseded).
    """
    spoken = [event for event in events if isinstance(event.item, Said) and event.item.role == "reading"]
    readings = _readings(plan, spoken)
    found = [*_superseded(readings), *_dropped(plan, readings), *_misread(readings), *_strays(events)]
    found.sort(key=lambda finding: (finding["start_s"], finding["end_s"]))
    for at, finding in enumerate(found):
        finding["id"] = f"F{at + 1:03d}"
    return {
        "schema": "lessoncut.analysis/1",
        "id": plan.id,
        "seed": plan.seed,
        "family": plan.family,
        "clean": plan.clean,
        "voice": next(event.item.voice.name for event in spoken if isinstance(event.item, Said)),
        "take": {"files": [take], "duration_s": round(duration_s, 3)},
        "lines": [
            {
                "id": line.id,
                "text": line.line.written,
                "spoken": line.line.spoken,
                "section": line.section,
                "in_passage": line.in_passage,
            }
            for line in plan.lines
        ],
        "passes": _passes(plan, readings),
        "readings": [{key: value for key, value in reading.items() if key != "misread"} for reading in readings],
        "findings": found,
        "others": _others(plan, events),
    }


def _times(event: Event) -> Record:
    return {"start_s": round(event.start_s, 3), "end_s": round(event.end_s, 3)}


def _readings(plan: Plan, spoken: Iterable[Event]) -> list[Record]:
    readings: list[Record] = []
    for event in spoken:
        item = event.item
        if not isinstance(item, Said) or item.line is None:
            raise TypeError(f"not a reading: {item}")
        readings.append(
            {
                "id": f"R{len(readings) + 1:03d}",
                "line": plan.lines[item.line].id,
                "pass": None if item.passage_pass is None else f"P{item.passage_pass + 1}",
                **_times(event),
                "core_start_s": round(event.core_start_s, 3),
                "core_end_s": round(event.core_end_s, 3),
                "kind": "full" if item.only_words is None else "partial",
                "kept": False,
                "misread": item.misread,
                "words": [
                    {"text": word.text, "start_s": round(word.start_s, 3), "end_s": round(word.end_s, 3)}
                    for word in event.words
                ],
            }
        )
    last: dict[tuple[str, str | None], Record] = {
        (reading["line"], reading["pass"]): reading for reading in readings if reading["kind"] == "full"
    }
    for reading in last.values():
        reading["kept"] = True
    return readings


def _passes(plan: Plan, readings: Sequence[Record]) -> list[Record]:
    """A pass ends where the script goes on after it: pick-ups belong to it but stretch it not."""
    passes = []
    for at, kind in enumerate(plan.passes):
        own = [reading for reading in readings if reading["pass"] == f"P{at + 1}"]
        later = next(
            (
                reading["start_s"]
                for before, reading in pairwise(readings)
                if before["pass"] == f"P{at + 1}" and reading["pass"] != f"P{at + 1}"
            ),
            float("inf"),
        )
        passes.append(
            {
                "id": f"P{at + 1}",
                "kind": kind,
                "start_s": own[0]["start_s"],
                "end_s": max(reading["end_s"] for reading in own if reading["start_s"] < later),
            }
        )
    return passes


def _finding(kind: str, span: Record, line: str | None = None, at_pass: str | None = None) -> Record:
    return {"id": "", "kind": kind, "line": line, "pass": at_pass, "start_s": span["start_s"], "end_s": span["end_s"]}


def _superseded(readings: Sequence[Record]) -> list[Record]:
    kinds: dict[str, Literal["false_start", "repeated_line"]] = {"partial": "false_start", "full": "repeated_line"}
    return [
        _finding(kinds[reading["kind"]], reading, reading["line"], reading["pass"])
        for reading in readings
        if not reading["kept"]
    ]


def _dropped(plan: Plan, readings: Sequence[Record]) -> list[Record]:
    """The span is where the line should have stood: between its neighbours in the same pass and script order."""
    order = {line.id: at for at, line in enumerate(plan.lines)}
    kept = {(reading["line"], reading["pass"]) for reading in readings if reading["kept"]}
    wanted = [
        (line.id, at_pass)
        for line in plan.lines
        for at_pass in ([f"P{at + 1}" for at in range(len(plan.passes))] if line.in_passage else [None])
    ]
    found = []
    for line, at_pass in wanted:
        if (line, at_pass) in kept:
            continue
        start_s, end_s = _place(readings, order, line, at_pass)
        found.append(_finding("dropped_line", {"start_s": start_s, "end_s": end_s}, line, at_pass))
    return found


def _place(readings: Sequence[Record], order: dict[str, int], line: str, at_pass: str | None) -> tuple[float, float]:
    """End of the last reading before the place, start of the first one after it."""
    if at_pass is None:
        before = [reading for reading in readings if order[reading["line"]] < order[line]]
        after = [reading for reading in readings if order[reading["line"]] > order[line]]
        start_s = max(
            (reading["end_s"] for reading in before if not after or reading["start_s"] < after[-1]["end_s"]),
            default=0.0,
        )
        follows = [reading["start_s"] for reading in after if reading["start_s"] >= start_s]
        return start_s, min(follows, default=start_s)
    own = [reading for reading in readings if reading["pass"] == at_pass]
    before = [reading for reading in own if order[reading["line"]] < order[line]]
    if before:
        anchor = readings.index(before[-1])
        return before[-1]["end_s"], readings[anchor + 1]["start_s"] if anchor + 1 < len(readings) else (
            before[-1]["end_s"]
        )
    anchor = readings.index(own[0])
    return readings[anchor - 1]["end_s"] if anchor else 0.0, own[0]["start_s"]


def _misread(readings: Sequence[Record]) -> list[Record]:
    return [
        {
            **_finding("misread", reading, reading["line"], reading["pass"]),
            **({} if reading["kept"] else {"optional": True}),
        }
        for reading in readings
        if reading["misread"]
    ]


def _strays(events: Sequence[Event]) -> list[Record]:
    found = []
    for event in events:
        item = event.item
        if isinstance(item, Noise) and not item.held:
            either = {"accepts": list(_EITHER)} if item.kind == "laughter" else {}
            found.append({**_finding("stray_sound", _times(event)), "sound": item.kind, **either})
        elif isinstance(item, Said) and item.role in {"talk", "whisper"}:
            either = {"accepts": list(_EITHER)} if item.role == "whisper" else {}
            found.append({**_finding("ad_lib", _times(event)), "said": item.text, **either})
    return found


def _others(plan: Plan, events: Sequence[Event]) -> list[Record]:
    others: list[Record] = []
    for event in events:
        item = event.item
        if isinstance(item, Noise) and item.held:
            others.append({"kind": "held", "sound": item.kind, **_times(event)})
        elif isinstance(item, Said) and item.role == "learner" and item.line is not None:
            others.append({"kind": "learner", "line": plan.lines[item.line].id, **_times(event)})
    return others
