"""The caption report, to read: which rules of the guides the captions keep, and where they break one."""

from __future__ import annotations

from collections import defaultdict

from lessoncut.outputs.base import Output, Programme
from lessoncut.outputs.caption_rules import RULES, Found, Rule, characters, checked, shown_s
from lessoncut.outputs.captions import Captions
from lessoncut.outputs.written import one_line, timestamp

_NAMED_CUES = 12


def caption_report(programme: Programme) -> str:
    """First every rule with its count, then every cue with the rules it breaks."""
    track = programme.captions
    found: dict[Rule, dict[int, Found]] = {rule: {} for rule in RULES}
    broken: dict[int, list[tuple[Rule, Found]]] = defaultdict(list)
    for rule, at, seen in checked(track):
        found[rule][at] = seen
        if not seen.kept:
            broken[at].append((rule, seen))
    lines = [
        f"Captions of “{one_line(programme.title)}”: {len(track.cues)} cues in {track.language},"
        f" {float(track.rate.per_second):.6g} frames a second, on the {programme.clock}'s time",
        "",
        "Rules our captions are made to keep",
        *(_rule_row(rule, found[rule]) for rule in RULES if rule.aimed),
        "",
        "Rules of guides that ask for something else (for you to judge)",
        *(_rule_row(rule, found[rule]) for rule in RULES if not rule.aimed),
        "",
        "Cues",
    ]
    for at in range(len(track.cues)):
        lines += _cue_rows(track, at, broken[at])
    return "\n".join(lines) + "\n"


def _rule_row(rule: Rule, found: dict[int, Found]) -> str:
    broken = [str(at + 1) for at, seen in found.items() if not seen.kept]
    if not found:
        verdict = "no cue it speaks of"
    elif not broken:
        verdict = f"kept by all {len(found)}"
    else:
        more = ", ..." if len(broken) > _NAMED_CUES else ""
        verdict = f"broken by {len(broken)} of {len(found)}: cue {', '.join(broken[:_NAMED_CUES])}{more}"
    return f"  {rule.name:<19} {rule.says} [{rule.source}]\n  {'':<19} {verdict}"


def _cue_rows(track: Captions, at: int, broken: list[tuple[Rule, Found]]) -> list[str]:
    cue = track.cues[at]
    span = track.span(cue)
    shown = shown_s(track, cue)
    head = (
        f"{at + 1:>4}  {timestamp(span.start_ms)} - {timestamp(span.end_ms)}  {float(shown):.2f} s,"
        f" {float(characters(cue) / shown):.1f} characters a second"
    )
    texts = [f"      | {text}" for text in cue.texts]
    marks = [f"      {'!' if rule.aimed else '.'} {rule.says}: {seen.saw}" for rule, seen in broken]
    return [head, *texts, *marks]


OUTPUT = Output(
    name="caption-report",
    says="every rule of the caption guides, kept or broken, to read",
    suffix=".txt",
    make=caption_report,
)
