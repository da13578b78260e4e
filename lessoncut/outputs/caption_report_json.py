"""The caption report for programs: every rule's verdict on every cue."""

from __future__ import annotations

from typing import Any

from lessoncut import codec
from lessoncut.outputs.base import Output, Programme
from lessoncut.outputs.caption_rules import RULES, characters, checked, shown_s
from lessoncut.outputs.captions import Captions, Cue
from lessoncut.times import seconds

SCHEMA = "lessoncut.captions/1"


def caption_report_json(programme: Programme) -> str:
    """``cues[].rules`` maps a rule's name to its verdict and what was seen; rules that do not apply are absent."""
    track = programme.captions
    verdicts: list[dict[str, Any]] = [{} for _ in track.cues]
    for rule, at, found in checked(track):
        verdicts[at][rule.name] = {"kept": found.kept, "saw": found.saw}
    report = {
        "schema": SCHEMA,
        "clock": programme.clock,
        "language": track.language,
        "frame_rate": str(track.rate.per_second),
        "rules": [
            {
                "name": rule.name,
                "says": rule.says,
                "source": rule.source,
                "aimed_at": rule.aimed,
                "kept": sum(rule.name in cue and cue[rule.name]["kept"] for cue in verdicts),
                "broken": sum(rule.name in cue and not cue[rule.name]["kept"] for cue in verdicts),
            }
            for rule in RULES
        ],
        "cues": [
            {"number": number, **_cue(track, cue), "rules": rules}
            for number, (cue, rules) in enumerate(zip(track.cues, verdicts, strict=True), start=1)
        ],
    }
    return codec.dumps(report)


def _cue(track: Captions, cue: Cue) -> dict[str, Any]:
    span = track.span(cue)
    return {
        "start_s": seconds(span.start_ms),
        "end_s": seconds(span.end_ms),
        "first_frame": cue.first_frame,
        "end_frame": cue.end_frame,
        "heard_start_s": seconds(cue.heard.start_ms),
        "heard_end_s": seconds(cue.heard.end_ms),
        "lines": list(cue.texts),
        "characters_per_second": round(float(characters(cue) / shown_s(track, cue)), 1),
    }


OUTPUT = Output(
    name="caption-report-json",
    says="every rule of the caption guides on every cue, for programs",
    suffix=".json",
    make=caption_report_json,
)
