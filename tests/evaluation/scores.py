"""Scores of one analysis against the truth: ``evaluate(truth, estimate)``.

Both are validated first (``contract.told``), then each metric is computed by itself, then ``evaluate`` gathers them
as counts and lists of errors, so that lessons are pooled by adding up and never by averaging averages.

What counts as the same thing:

- a pass: same kind, intersection over union of at least 0.5, one to one;
- a kept reading: same line, same pass (its kind and its place among those of its kind), IoU of at least 0.5;
- a finding about a line: same kind, line and pass, one to one, in order of time;
- talk and stray sounds: overlapping, or within 1 s, one to one. What overlaps a matched one by half of its own
  length is a part of the same event, neither missed nor invented.

Neither missed nor invented are also: findings that the truth calls optional, and talk or sounds reported over a
learner's voice. ``stray_text`` is made by recognisers, so it has no truth; it is only counted, and counted again
where it lies over true speech.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import Any, TypeVar

import numpy as np
from scipy.optimize import linear_sum_assignment

from tests.evaluation.contract import (
    FINDING_KINDS,
    Stretch,
    Told,
    ToldFinding,
    ToldReading,
    ToldWord,
    line_map,
    plain,
    told,
)

SCORED_KINDS = tuple(kind for kind in FINDING_KINDS if kind != "stray_text")
_BY_TIME = ("ad_lib", "stray_sound")
LEAST_IOU = 0.5
NEAR_S = 1.0
PHANTOM_S = 0.2
Key = tuple[str, str | None, tuple[str, int] | None]


@dataclass(frozen=True)
class Counts:
    """Matched, missed and invented ones. Nothing to find and nothing invented is a perfect score."""

    found: int = 0
    missed: int = 0
    invented: int = 0

    def __add__(self, other: Counts) -> Counts:
        return Counts(self.found + other.found, self.missed + other.missed, self.invented + other.invented)

    @property
    def precision(self) -> float:
        return self.found / (self.found + self.invented) if self.found + self.invented else 1.0

    @property
    def recall(self) -> float:
        return self.found / (self.found + self.missed) if self.found + self.missed else 1.0

    @property
    def f1(self) -> float:
        both = 2 * self.found + self.missed + self.invented
        return 2 * self.found / both if both else 1.0


@dataclass(frozen=True)
class Edges:
    """Errors in ms of matched kept readings; positive ``inside`` lies inside the reading's own speech.

    ``core_inside`` is the same against the loud part of the speech, where the truth tells it.
    """

    errors_ms: tuple[float, ...] = ()
    inside_ms: tuple[float, ...] = ()
    core_inside_ms: tuple[float, ...] = ()


@dataclass(frozen=True)
class Miss:
    """One thing missed or invented. Times in take seconds."""

    fault: str
    kind: str
    line: str | None
    at_pass: str | None
    start_s: float
    end_s: float
    note: str = ""


@dataclass(frozen=True)
class Score:
    passes: Counts
    pass_iou: tuple[float, ...]
    kept: Counts
    edges: Edges
    findings: dict[str, Counts]
    phantom_words: int
    kept_words: int
    word_errors_ms: tuple[float, ...]
    confidences: tuple[tuple[float, bool], ...]
    stray_texts: int
    stray_texts_over_speech: int
    clean_false: int
    confusions: tuple[Miss, ...]


Item = TypeVar("Item")
Other = TypeVar("Other")


def paired(gains: np.ndarray[Any, np.dtype[np.float64]]) -> list[tuple[int, int]]:
    """The one-to-one pairs of rows and columns with the greatest sum of gains; pairs without gain are left out."""
    if 0 in gains.shape:
        return []
    rows, columns = linear_sum_assignment(-gains)
    return [(int(row), int(column)) for row, column in zip(rows, columns, strict=True) if gains[row, column] > 0]


def match_passes(truth: Told, estimate: Told) -> tuple[Counts, tuple[float, ...]]:
    gains = np.zeros((len(truth.passes), len(estimate.passes)))
    for row, true in enumerate(truth.passes):
        for column, guess in enumerate(estimate.passes):
            overlap = true.iou(guess) if true.kind == guess.kind else 0.0
            gains[row, column] = overlap if overlap >= LEAST_IOU else 0.0
    pairs = paired(gains)
    return (
        Counts(len(pairs), len(truth.passes) - len(pairs), len(estimate.passes) - len(pairs)),
        tuple(float(gains[pair]) for pair in pairs),
    )


def match_kept(
    truth: Told, estimate: Told
) -> tuple[list[tuple[ToldReading, ToldReading]], list[ToldReading], list[ToldReading]]:
    """Pairs of kept readings, those missed, and those invented."""
    names = line_map(truth, estimate)
    guesses = {
        (names[reading.line], estimate.pass_key(reading.at_pass)): reading
        for reading in estimate.readings
        if reading.kept and reading.line in names
    }
    pairs, missed = [], []
    for reading in (reading for reading in truth.readings if reading.kept):
        guess = guesses.get((reading.line, truth.pass_key(reading.at_pass)))
        if guess is not None and reading.iou(guess) >= LEAST_IOU:
            pairs.append((reading, guess))
        else:
            missed.append(reading)
    matched = {guess.id for _, guess in pairs}
    return pairs, missed, [reading for reading in estimate.readings if reading.kept and reading.id not in matched]


def edge_errors(pairs: Iterable[tuple[ToldReading, ToldReading]]) -> Edges:
    errors, inside, core_inside = [], [], []
    for true, guess in pairs:
        for late_s, sign in ((guess.start_s - true.start_s, 1), (guess.end_s - true.end_s, -1)):
            errors.append(1000 * abs(late_s))
            inside.append(1000 * sign * late_s)
        if true.core is not None:
            core_inside += [1000 * (guess.start_s - true.core.start_s), 1000 * (true.core.end_s - guess.end_s)]
    return Edges(tuple(errors), tuple(inside), tuple(core_inside))


def word_errors(pairs: Iterable[tuple[ToldReading, ToldReading]]) -> tuple[float, ...]:
    """Errors in ms of both edges of every word that both name, where the truth knows its words' times."""
    errors = []
    for true, guess in pairs:
        own, theirs = ([plain(word.text) for word in reading.words] for reading in (true, guess))
        for block in SequenceMatcher(None, own, theirs, autojunk=False).get_matching_blocks():
            for step in range(block.size):
                left, right = true.words[block.a + step], guess.words[block.b + step]
                errors += [1000 * abs(left.start_s - right.start_s), 1000 * abs(left.end_s - right.end_s)]
    return tuple(errors)


def true_speech(truth: Told) -> list[Stretch]:
    """Every stretch in which somebody speaks or makes a voiced sound."""
    talk = [finding for finding in truth.findings if finding.kind == "ad_lib" or "ad_lib" in finding.accepts]
    return [*truth.readings, *talk, *truth.others]


def phantom_words(truth: Told, estimate: Told) -> tuple[list[ToldWord], int]:
    """Words of kept readings with no true speech within 200 ms, and how many words there are."""
    speech = true_speech(truth)
    words = [word for reading in estimate.readings if reading.kept for word in reading.words]
    return [word for word in words if all(word.distance_s(span) > PHANTOM_S for span in speech)], len(words)


@dataclass(frozen=True)
class _Matched:
    """Findings of one lesson sorted out. ``right`` holds an estimate's finding and the kind it counts for."""

    right: tuple[tuple[ToldFinding, str], ...]
    missed: tuple[ToldFinding, ...]
    invented: tuple[ToldFinding, ...]


def match_findings(truth: Told, estimate: Told) -> _Matched:
    about = _match_about_lines(truth, estimate)
    timed = _match_by_time(truth, estimate)
    return _Matched((*about.right, *timed.right), (*about.missed, *timed.missed), (*about.invented, *timed.invented))


def _keyed(file: Told, names: dict[str, str], kinds: Sequence[str]) -> dict[Key, list[ToldFinding]]:
    out: dict[Key, list[ToldFinding]] = defaultdict(list)
    for finding in sorted(file.findings, key=lambda finding: finding.start_s):
        if finding.kind in kinds:
            line = None if finding.line is None else names.get(finding.line, f"?{finding.line}")
            out[finding.kind, line, file.pass_key(finding.at_pass)].append(finding)
    return out


def _match_about_lines(truth: Told, estimate: Told) -> _Matched:
    kinds = [kind for kind in SCORED_KINDS if kind not in _BY_TIME]
    own = _keyed(truth, {name: name for name in truth.lines}, kinds)
    theirs = _keyed(estimate, line_map(truth, estimate), kinds)
    right: list[tuple[ToldFinding, str]] = []
    missed: list[ToldFinding] = []
    invented: list[ToldFinding] = []
    for key in {**own, **theirs}:
        wanted = [finding for finding in own.get(key, []) if not finding.optional]
        spare = len(own.get(key, [])) - len(wanted)
        given = theirs.get(key, [])
        right += [(finding, key[0]) for finding in given[: len(wanted)]]
        missed += wanted[len(given) :]
        invented += given[len(wanted) + spare :]
    return _Matched(tuple(right), tuple(missed), tuple(invented))


def _match_by_time(truth: Told, estimate: Told) -> _Matched:
    own = [finding for finding in truth.findings if finding.kind in _BY_TIME]
    theirs = [finding for finding in estimate.findings if finding.kind in _BY_TIME]
    gains = np.zeros((len(own), len(theirs)))
    for row, true in enumerate(own):
        for column, guess in enumerate(theirs):
            if guess.kind in (true.kind, *true.accepts) and true.distance_s(guess) <= NEAR_S:
                gains[row, column] = 0.01 + true.overlap_s(guess) + (0.001 if guess.kind == true.kind else 0.0)
    pairs = paired(gains)
    rows, columns = {row for row, _ in pairs}, {column for _, column in pairs}
    right = [(theirs[column], own[row].kind) for row, column in pairs]
    missed = [
        true
        for row, true in enumerate(own)
        if row not in rows
        and not true.optional
        and not _part_of(
            true, [theirs[column] for column in columns if theirs[column].kind in (true.kind, *true.accepts)]
        )
    ]
    learners = [other for other in truth.others if other.kind == "learner"]
    invented = [
        guess
        for column, guess in enumerate(theirs)
        if column not in columns
        and not _part_of(guess, [*learners, *(true for true in own if guess.kind in (true.kind, *true.accepts))])
    ]
    return _Matched(tuple(right), tuple(missed), tuple(invented))


def _part_of(part: Stretch, wholes: Iterable[Stretch]) -> bool:
    return any(part.overlap_s(whole) >= part.length_s / 2 and part.overlap_s(whole) > 0 for whole in wholes)


def evaluate(truth: dict[str, Any], estimate: dict[str, Any]) -> Score:
    """Every metric of one lesson. Raises ContractError when either side is not a valid analysis."""
    own, theirs = told(truth), told(estimate)
    passes, pass_iou = match_passes(own, theirs)
    pairs, missed, invented = match_kept(own, theirs)
    matched = match_findings(own, theirs)
    phantoms, words = phantom_words(own, theirs)
    texts = [finding for finding in theirs.findings if finding.kind == "stray_text"]
    speech = true_speech(own)
    confidences = [
        (finding.confidence, right)
        for right, findings in ((True, [item for item, _ in matched.right]), (False, matched.invented))
        for finding in findings
        if finding.confidence is not None
    ]
    return Score(
        passes,
        pass_iou,
        Counts(len(pairs), len(missed), len(invented)),
        edge_errors(pairs),
        {
            kind: Counts(
                sum(counted == kind for _, counted in matched.right),
                sum(finding.kind == kind for finding in matched.missed),
                sum(finding.kind == kind for finding in matched.invented),
            )
            for kind in SCORED_KINDS
        },
        len(phantoms),
        words,
        word_errors(pairs),
        tuple(confidences),
        len(texts),
        sum(_part_of(text, speech) for text in texts),
        len(matched.invented) if truth.get("clean") else 0,
        _confusions(own, theirs, matched, missed, invented, phantoms),
    )


def _confusions(
    truth: Told,
    estimate: Told,
    matched: _Matched,
    missed: Sequence[ToldReading],
    invented: Sequence[ToldReading],
    phantoms: Sequence[ToldWord],
) -> tuple[Miss, ...]:
    def miss(fault: str, file: Told, item: ToldFinding | ToldReading) -> Miss:
        key = file.pass_key(item.at_pass)
        note = item.says if isinstance(item, ToldFinding) else ""
        text = file.lines[item.line] if item.line is not None else note
        kind = item.kind if isinstance(item, ToldFinding) else "kept reading"
        return Miss(
            fault, kind, item.line, None if key is None else f"{key[0]} {key[1] + 1}", item.start_s, item.end_s, text
        )

    return tuple(
        sorted(
            (
                *(miss("missed", truth, finding) for finding in matched.missed),
                *(miss("missed", truth, reading) for reading in missed),
                *(miss("invented", estimate, finding) for finding in matched.invented),
                *(miss("invented", estimate, reading) for reading in invented),
                *(
                    Miss("invented", "phantom word", None, None, word.start_s, word.end_s, word.text)
                    for word in phantoms
                ),
            ),
            key=lambda item: (item.start_s, item.end_s, item.fault, item.kind),
        )
    )
