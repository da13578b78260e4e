"""Which lines of the passage go wrong, and how.

Where two equal lines stand next to each other nobody could tell which was left out or said twice, so neither is.
"""

from __future__ import annotations

import numpy as np

from tests.evaluation.plan import ScriptLine

_WEIGHTS = {
    "retake": 4.0,
    "two_retakes": 1.5,
    "false_start": 3.0,
    "two_false_starts": 1.0,
    "one_word_start": 1.5,
    "start_and_retake": 0.7,
    "drop": 3.0,
    "misread": 1.5,
    "misread_retake": 1.0,
    "talk": 1.5,
    "whisper": 0.7,
    "stray": 2.5,
    "dead_air": 0.4,
}
HARD = (
    "double_again",
    "one_word_start",
    "drop_first",
    "drop_last",
    "drop_beside_retake",
    "restart",
    "pickup",
    "dead_air",
    "learner",
    "misread",
    "whisper",
    "laughter",
    "page",
)
_STARTS = ("false_start", "two_false_starts", "one_word_start", "start_and_retake")
_WHOLE = ("retake", "two_retakes", "double_again", "drop", "start_and_retake", "misread_retake")
_MOST_DROPPED = 0.25
Slot = tuple[int, int]
"""A pass and a line: indexes into the plan's."""


def mishaps(
    rng: np.random.Generator,
    lines: tuple[ScriptLine, ...],
    passage: range,
    passes: int,
    amount: int,
    features: tuple[str, ...],
) -> dict[Slot, str]:
    """The hard things first, then ``amount`` more drawn at random, at most one to a line and pass."""
    slots: dict[Slot, str] = {}

    def put(slot: Slot, mishap: str) -> None:
        if (
            slot not in slots
            and _possible(lines, passage, slot[1], mishap)
            and (mishap != "drop" or _dropped(slots, slot[0]) < _MOST_DROPPED * len(passage))
        ):
            slots[slot] = mishap

    for feature in features:
        at_pass = int(rng.integers(passes))
        line = int(rng.choice(passage))
        if feature == "drop_first":
            put((at_pass, passage[0]), "drop")
        elif feature == "drop_last":
            put((at_pass, passage[-1]), "drop")
        elif feature == "drop_beside_retake":
            line = int(rng.choice(passage[:-1]))
            first, second = ("drop", "retake") if rng.random() < 0.5 else ("retake", "drop")
            put((at_pass, line), first)
            put((at_pass, line + 1), second)
        elif feature not in {"restart", "pickup", "learner"}:
            put((at_pass, line), feature)
    kinds = list(_WEIGHTS)
    shares = np.array(list(_WEIGHTS.values())) / sum(_WEIGHTS.values())
    for _ in range(amount):
        put((int(rng.integers(passes)), int(rng.choice(passage))), str(rng.choice(kinds, p=shares)))
    return slots


def pickups(
    rng: np.random.Generator, lines: tuple[ScriptLine, ...], passage: range, last_pass: int, slots: dict[Slot, str]
) -> list[Slot]:
    """One to three lines to read again at the end, those dropped in the last pass first; each patches the one pass that
    lacks it, or has it wrong, and else the last."""
    able = [line for line in passage if _twins(lines, passage, line) == 1]
    dropped = [line for line in able if slots.get((last_pass, line)) == "drop"]
    others = [int(line) for line in rng.permutation([line for line in able if line not in dropped])]
    picked = sorted((dropped + others)[: int(rng.integers(1, 4))])
    return [(_patched(slots, last_pass, line), line) for line in picked]


def _patched(slots: dict[Slot, str], last_pass: int, line: int) -> int:
    """The pass that a line read again at the end belongs to."""
    for wrong in ("drop", "misread"):
        passes = [at_pass for at_pass in range(last_pass + 1) if slots.get((at_pass, line)) == wrong]
        if passes:
            return passes[0] if len(passes) == 1 else last_pass
    return last_pass


def _dropped(slots: dict[Slot, str], at_pass: int) -> int:
    return sum(1 for (where, _), mishap in slots.items() if where == at_pass and mishap == "drop")


def _twins(lines: tuple[ScriptLine, ...], passage: range, line: int) -> int:
    return sum(lines[other].line.spoken == lines[line].line.spoken for other in passage)


def _possible(lines: tuple[ScriptLine, ...], passage: range, line: int, mishap: str) -> bool:
    said = lines[line].line
    if mishap in _STARTS and (len(said.spoken.split()) < 3 or not said.breakable):
        return False
    if mishap.startswith("misread") and said.changed is None:
        return False
    beside = [lines[other].line.spoken for other in (line - 1, line + 1) if other in passage]
    return not (mishap in _WHOLE and said.spoken in beside)
