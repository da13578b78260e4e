"""Writes docs/evaluation.md and its plot from the scores in docs/evaluation.json.

    python docs/make_evaluation.py                    # from the scores that are kept
    python docs/make_evaluation.py REPORT...          # keeps new ones first

A REPORT is what `python -m tests.evaluation.run --json REPORT` wrote; the first says how lessoncut and the baseline
fare, further ones how lessoncut fares with other models on some of the same lessons: MODEL=REPORT.
"""

from __future__ import annotations

import json
import sys
from html import escape
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
SCORES = HERE / "evaluation.json"
PAGE = HERE / "evaluation.md"
PLOT = HERE / "images" / "evaluation.svg"
BARS: dict[str, dict[str, float]] = json.loads(
    (HERE.parent / "tests" / "evaluation" / "thresholds.json").read_text(encoding="utf-8")
)
SHARES = {
    "pass_f1": "Passes",
    "kept_recall": "Kept readings: recall",
    "kept_precision": "Kept readings: precision",
    "dropped_line_f1": "`dropped_line`",
    "repeated_line_f1": "`repeated_line`",
    "false_start_f1": "`false_start`",
    "misread_f1": "`misread`",
    "ad_lib_f1": "`ad_lib`",
    "stray_sound_f1": "`stray_sound`",
}
"""Between 0 and 1, more is better; F1 unless told."""
NUMBERS = {
    "edge_median_ms": "Edges of kept readings: middle error, ms",
    "edge_p95_ms": "Edges: 95 of 100 are nearer than, ms",
    "edge_inside_40ms_share": "Edges more than 40 ms inside their own speech, share",
    "core_inside_share": "Edges inside the loud part of it (28 dB), share",
    "phantom_words": "Words of kept readings where nobody speaks",
    "clean_false_findings": "False findings in takes without a fault",
    "caption_phantom_words": "Caption words where nobody speaks",
    "caption_rules_broken_share": "Checks of the caption guides not passed, share",
    "caption_file_faults": "Faults in WebVTT, SRT, ASS and TTML as other readers read them",
    "chapter_faults": "Faults of the chapters: contiguous, and by the host's rules",
    "gap_sheet_faults": "Gaps on the gap sheet that are not the timeline's",
    "held_sounds_lost": "Sounds held for demonstration that do not play",
    "cpu_s_per_minute": "Processor seconds a minute of take",
}
FAMILY = "fresh33"
ABOUT = """\
No lesson had been drawn from `fresh33` when these scores were taken. Its passages and explanations were written by
somebody who had not seen the matching, its talk beside the script by somebody who had, and who had looked at some of
its passages while they were put together. Six of its eleven voices are new, too: no earlier family is read by them. The
networks that tell where lines begin and end were fitted on lessons of earlier families
(`tests/evaluation/fitted_on.json`). Of the 41 faults 24 are the fault of the texts: two lines held two sentences each,
which are two lines to lessoncut; they have been reworded since, so that the command draws other lessons in their place.
Four come from "0.85" said as "eighty-five pence", a way that was not known. Of the other 13 some have been mended
since: a start that was heard with a word before it, and a line that was taken for a start of the next one, which was
not read. Not mended are a line of one word picked up after the ending and heard as another, four misreadings that went
unseen or were invented, and the ends of one voice's lines in live rooms, told too early: five of the six edges inside
the louder part are its. Only three of the lines were misread."""
"""What the scores of the family that was measured last can say."""
HEAD = """\
# How right it is

This page and its plot are made from scores by `python docs/make_evaluation.py`; the scores are in `evaluation.json`,
and this is the command that measured them, on lessons whose seeds were new to everybody:

```sh
python -m tests.evaluation.run --family {family} --seeds {seeds} --baseline --json report.json
```

It draws lessons by seed: a script, a voice, a room, and mishaps of every kind, some of them hard on purpose (two
retakes in a row, a false start of one word, a line dropped where a pass begins or ends, lines that are twins, a learner
who repeats, coughs, page turns, half a minute of nothing). What really happened is known to the millisecond. The family
{about}

The command fails when a score falls below its bar. Findings and passes are counted as in the docstring of
`tests/evaluation/scores.py`.

These {lessons} lessons are {minutes:.0f} minutes of take, {without_fault} of them without a fault. Their voices:
{voices}.

The **baseline** takes the plain recogniser's words and finds each line among them by likeness of the text; nothing
more. It hears with the same model. The difference is what lessoncut adds.

![Every score of lessoncut and of the baseline, with its bar](images/evaluation.svg)

Scores between 0 and 1 are F1 where nothing else is said. "Short" is what does not reach its bar yet.
"""


def kept(reports: list[str]) -> dict[str, Any]:
    """What this page needs of the reports."""
    first, *others = ({"model": "", "path": given} | _named(given) for given in reports)
    report = json.loads(Path(first["path"]).read_text(encoding="utf-8"))
    scores = {
        "of": report["of"],
        "lessoncut": report["lessoncut"]["metrics"],
        "baseline": report["baseline"]["metrics"],
        "reliability": report["lessoncut"]["reliability"],
        "models": {},
    }
    for other in others:
        told = json.loads(Path(other["path"]).read_text(encoding="utf-8"))
        scores["models"][other["model"]] = {"of": told["of"], "metrics": told["lessoncut"]["metrics"]}
    return scores


def _named(given: str) -> dict[str, str]:
    model, sign, path = given.partition("=")
    return {"model": model, "path": path} if sign else {}


def page(scores: dict[str, Any]) -> str:
    of = scores["of"]
    voices = ", ".join(_counted(of["voices"]))
    if of["family"] != FAMILY:
        raise SystemExit(f"these are scores of {of['family']}; say what it is in FAMILY and ABOUT first")
    head = HEAD.format(
        family=of["family"],
        about=ABOUT,
        seeds=_run(of["seeds"]),
        lessons=len(of["voices"]),
        minutes=of["take_minutes"],
        without_fault=of["without_fault"] or "none",
        voices=voices,
    )
    parts = [head, _table(scores), _confidence(scores["reliability"]), *_models(scores)]
    return "\n".join(parts)


def _run(seeds: str) -> str:
    """``3-5`` for ``3,4,5``; another row stays as it is."""
    numbers = [int(seed) for seed in seeds.split(",")]
    unbroken = numbers == list(range(numbers[0], numbers[-1] + 1))
    return f"{numbers[0]}-{numbers[-1]}" if unbroken and len(numbers) > 1 else seeds


def _counted(names: list[str]) -> list[str]:
    times = {name: names.count(name) for name in names}
    return [name if count == 1 else f"{name} ({count})" for name, count in times.items()]


def _table(scores: dict[str, Any]) -> str:
    rows = ["| score | baseline | lessoncut | bar | found, missed, invented |", "|---|---|---|---|---|"]
    for name, says in (SHARES | NUMBERS).items():
        ours, theirs = scores["lessoncut"].get(name), scores["baseline"].get(name)
        short = ours is not None and not reached(name, ours)
        mark = " (short)" if short else ""
        rows.append(
            f"| {says} | {shown(theirs)} | {shown(ours)}{mark} | {_bar(name)} | {_counts(scores['lessoncut'], name)} |"
        )
    return "\n".join([*rows, ""])


def _counts(metrics: dict[str, float], name: str) -> str:
    """How many there were to find: a share of three says less than one of three hundred."""
    stem = name.rpartition("_")[0]
    counts = [metrics.get(f"{stem}_{part}") for part in ("found", "missed", "invented")]
    return ", ".join(f"{count:.0f}" for count in counts if count is not None)


def shown(value: float | None) -> str:
    if value is None:
        return ""
    return f"{value:.0f}" if float(value).is_integer() and value > 1 else f"{value:.3f}".rstrip("0").rstrip(".")


def reached(name: str, value: float) -> bool:
    bar = BARS.get(name, {})
    return bar.get("least", value) <= value <= bar.get("most", value)


def _bar(name: str) -> str:
    return "".join(f"{side} {shown(value)}" for side, value in BARS.get(name, {}).items())


def _confidence(rows: list[dict[str, float]]) -> str:
    lines = [
        "## Confidence",
        "",
        "Every finding says how sure it is. Where that is honest, the last two columns agree.",
        "",
        "| confidence | findings | said, on average | right |",
        "|---|---|---|---|",
        *(
            f"| {row['from']:.2f} to {row['to']:.2f} | {row['findings']:.0f}"
            f" | {row['stated']:.2f} | {row['right']:.2f} |"
            for row in rows
        ),
    ]
    return "\n".join([*lines, ""])


def _models(scores: dict[str, Any]) -> list[str]:
    """How it fares with other models, on the lessons they were tried on."""
    if not scores["models"]:
        return []
    names = list(scores["models"])
    lessons = {name: f"{name}, {len(scores['models'][name]['of']['voices'])} lessons" for name in names}
    lines = [
        "## Other models",
        "",
        "The scores above are those of the packaged model, `tiny.en`. `--model base` takes another; it was measured",
        "with `--analyze-command 'python -m lessoncut analyze {take} {script} --lesson {lesson} --model base'` on",
        "a few of these lessons, which say little more than that it works and what it costs:",
        "",
        f"| score | {' | '.join(lessons.values())} |",
        f"|---|{'---|' * len(names)}",
    ]
    for row, says in (SHARES | NUMBERS).items():
        values = [shown(scores["models"][name]["metrics"].get(row)) for name in names]
        lines.append(f"| {says} | {' | '.join(values)} |")
    return ["\n".join([*lines, ""])]


# -- the plot ----------------------------------------------------------------------------------------

_LEFT, _WIDE, _ROW, _TOP = 190, 430, 40, 48
_STYLE = """\
text { font: 13px sans-serif; fill: #1d2730 }
.small { font-size: 11px; fill: #47545f }
.ours { fill: #1f6f8b }
.theirs { fill: url(#hatch); stroke: #8a6d3b; stroke-width: 1 }
.bar { stroke: #b3261e; stroke-width: 2 }
.grid { stroke: #d5dbe0 }"""


def plot(scores: dict[str, Any]) -> str:
    """Two bars a score, and a mark where it has to reach."""
    high = _TOP + _ROW * len(SHARES) + 24
    drawn = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_LEFT + _WIDE + 70} {high}" role="img">',
        "<title>Scores of lessoncut and of the baseline, 0 to 1</title>",
        f"<style>{_STYLE}</style>",
        '<defs><pattern id="hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">',
        '<rect width="6" height="6" fill="#f4ead6"/><line x1="0" y1="0" x2="0" y2="6" stroke="#8a6d3b"/>',
        "</pattern></defs>",
        '<rect width="100%" height="100%" fill="#ffffff"/>',
        *_key(),
    ]
    for tenth in range(0, 11, 2):
        x = _x(tenth / 10)
        drawn.append(f'<line class="grid" x1="{x}" y1="{_TOP - 6}" x2="{x}" y2="{high - 22}"/>')
        drawn.append(f'<text class="small" x="{x}" y="{high - 8}" text-anchor="middle">{tenth / 10:g}</text>')
    for at, (name, says) in enumerate(SHARES.items()):
        drawn += _row(_TOP + _ROW * at, name, says.strip("`"), scores)
    return "\n".join([*drawn, "</svg>", ""])


def _key() -> list[str]:
    return [
        f'<rect class="ours" x="{_LEFT}" y="14" width="22" height="12"/><text x="{_LEFT + 28}" y="25">lessoncut</text>',
        f'<rect class="theirs" x="{_LEFT + 120}" y="14" width="22" height="12"/>'
        f'<text x="{_LEFT + 148}" y="25">baseline</text>',
        f'<line class="bar" x1="{_LEFT + 240}" y1="12" x2="{_LEFT + 240}" y2="28"/>'
        f'<text x="{_LEFT + 248}" y="25">bar to reach</text>',
    ]


def _row(y: int, name: str, says: str, scores: dict[str, Any]) -> list[str]:
    out = [f'<text x="{_LEFT - 10}" y="{y + 19}" text-anchor="end">{escape(says)}</text>']
    for kind, way, top in (("ours", "lessoncut", y), ("theirs", "baseline", y + 15)):
        value = scores[way].get(name)
        if value is not None:
            out.append(f'<rect class="{kind}" x="{_LEFT}" y="{top}" width="{_x(value) - _LEFT}" height="12"/>')
            out.append(f'<text class="small" x="{_x(value) + 6}" y="{top + 10}">{value:.3f}</text>')
    least = BARS.get(name, {}).get("least")
    if least is not None:
        out.append(f'<line class="bar" x1="{_x(least)}" y1="{y - 3}" x2="{_x(least)}" y2="{y + 15}"/>')
    return out


def _x(value: float) -> int:
    return round(_LEFT + _WIDE * value)


def main() -> None:
    if sys.argv[1:]:
        SCORES.write_text(json.dumps(kept(sys.argv[1:]), indent=1) + "\n", encoding="utf-8")
    scores = json.loads(SCORES.read_text(encoding="utf-8"))
    PAGE.write_text(page(scores), encoding="utf-8")
    PLOT.write_text(plot(scores), encoding="utf-8")


if __name__ == "__main__":
    main()
