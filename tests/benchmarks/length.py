"""What a minute of take costs when there are many of them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from tests.benchmarks.measuring import cost_of
from tests.benchmarks.takes import made_take

MINUTES = (10, 60, 180)
MOST_MB = 1500
MOST_DEARER = 1.1

WIDTH, HEIGHT, MARGIN = 480, 300, 50


def measure(folder: Path) -> list[dict[str, Any]]:
    found = []
    for minutes in MINUTES:
        take = made_take(folder / str(minutes), minutes)
        lesson = folder / str(minutes) / "lesson"
        cost = cost_of(["-m", "lessoncut", "analyze", take.take, take.script, "--lesson", lesson])
        found.append(
            {
                "minutes": round(take.duration_s / 60, 1),
                "lines": take.lines,
                "cpu_s": round(cost.cpu_s, 1),
                "peak_mb": round(cost.peak_mb),
            }
        )
    return found


def page(found: list[dict[str, Any]]) -> str:
    each = [one["cpu_s"] / one["minutes"] for one in found]
    rows = [
        f"| {one['minutes']:g} | {one['lines']} | {one['cpu_s']} | {rate:.2f} | {one['peak_mb']} |"
        for one, rate in zip(found, each, strict=True)
    ]
    return "\n".join(
        [
            "## Long takes",
            "",
            "`lessoncut analyze` on takes of one kind, from the file to the findings: whole processes, nothing known",
            "from before.",
            "",
            "| minutes of take | lines of script | CPU s | CPU s a minute | peak MB |",
            "|---:|---:|---:|---:|---:|",
            *rows,
            "",
            f"A minute of the longest costs {each[-1] / each[0]:.2f} times one of the shortest.",
            f"No more than {MOST_DEARER} times, and no more than {MOST_MB} MB, are wanted.",
            "",
            "![CPU time over the take's length](images/long-takes.svg)",
            "",
        ]
    )


def plot(found: list[dict[str, Any]]) -> str:
    """The cost over the length, with the line on which a minute costs what it costs in the shortest take."""
    longest = max(one["minutes"] for one in found)
    dearest = longest * max(one["cpu_s"] / one["minutes"] for one in found)
    rate = found[0]["cpu_s"] / found[0]["minutes"]

    def at(minutes: float, cpu_s: float) -> tuple[float, float]:
        across = MARGIN + (WIDTH - 2 * MARGIN) * minutes / longest
        return round(across, 1), round(HEIGHT - MARGIN - (HEIGHT - 2 * MARGIN) * cpu_s / dearest, 1)

    def text(x: float, y: float, words: str, anchor: str = "middle") -> str:
        return f'<text x="{x}" y="{y}" text-anchor="{anchor}">{words}</text>'

    (left, floor), (right, top), end = at(0, 0), at(longest, dearest), at(longest, longest * rate)
    marks = [at(one["minutes"], one["cpu_s"]) for one in found]
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" font-family="sans-serif"',
        ' font-size="12">',
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#fff"/>',
        f'<path d="M{left} {top} V{floor} H{right}" fill="none" stroke="#333"/>',
        f'<path d="M{left} {floor} L{end[0]} {end[1]}" stroke="#999" stroke-dasharray="4 4"/>',
        *(f'<circle cx="{x}" cy="{y}" r="4" fill="#0b5cad"/>' for x, y in marks),
        *(text(x, floor + 18, f"{one['minutes']:g}") for (x, _), one in zip(marks, found, strict=True)),
        *(text(x - 8, y - 8, f"{one['cpu_s']:.0f} s", "end") for (x, y), one in zip(marks[1:], found[1:], strict=True)),
        text((left + right) / 2, HEIGHT - 10, "minutes of take"),
        text(left, top - 12, "CPU s of analyze; dashed: as dear a minute as in the shortest take", "start"),
        "</svg>",
    ]
    return "\n".join(parts) + "\n"
