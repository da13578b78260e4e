"""How much likelier the recogniser finds a line with what was heard in it than as it is written."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from lessoncut import wording
from lessoncut.matching.attempts import Attempt
from lessoncut.matching.differences import met_tokens
from lessoncut.matching.ground import Ground
from lessoncut.matching.records import Change
from lessoncut.script.records import Line


def likelier_with(
    ground: Ground, attempts: Sequence[Attempt], changes: Mapping[int, Sequence[Change]]
) -> dict[tuple[int, Change], float | None]:
    """How much likelier than as it stands the recogniser finds the attempt's line with each change, alone or among the
    others there; None where nobody can tell."""
    asked = {at: ways_of(ground.script.lines[attempts[at].line], of_it) for at, of_it in changes.items() if of_it}
    rows = [ground.wordings(attempts[at].span, *dict.fromkeys(ways.values())) for at, ways in asked.items()]
    likelier: dict[tuple[int, Change], float | None] = {}
    for (at, ways), row, answer in zip(asked.items(), rows, ground.weigh(rows), strict=True):
        logs = dict(zip(row.texts, answer.logs, strict=False))
        found = {believed: logs[text] for believed, text in ways.items()} if logs else {}
        likelier |= {(at, change): _by(found, change) if found else None for change in changes[at]}
    return likelier


def ways_of(line: Line, changes: Sequence[Change]) -> dict[frozenset[Change], str]:
    """The line with none of the changes, with each, with all, and with all but each."""
    every = frozenset(changes)
    believed = [frozenset[Change](), *(frozenset({each}) for each in every), every, *(every - {each} for each in every)]
    return {some: _written(line, changes, some) for some in believed}


def _by(logs: Mapping[frozenset[Change], float], change: Change) -> float:
    """How much likelier the line is with the change: alone; or with it among all of them, if these are so, too. Of "a
    child finds" and "some children find" neither part is likely without the other."""
    none, every, alone = frozenset[Change](), max(logs, key=len), frozenset({change})
    among_all = min(logs[every] - logs[every - alone], logs[every] - logs[none])
    return max(logs[alone] - logs[none], among_all)


def _written(line: Line, changes: Sequence[Change], believed: frozenset[Change]) -> str:
    """The line as it is written, but for the changes: what was heard where they are believed, else the script's words.
    A number in figures is spelt out in both: recognisers write figures, and would find any other writing unlikely."""
    text, at = "", 0
    for part in _parts(line, changes):
        written, true = line.text[part.start : part.end], believed.intersection(part.changes)
        words = list(line.spoken)
        for change in sorted(true, key=lambda each: each.first, reverse=True):
            words[change.first : change.last + 1] = change.heard
        as_said = words[part.first : len(words) - len(line.spoken) + part.upto]
        numbers = any(all(map(wording.is_number, change.script)) for change in part.changes)
        figures = numbers and not written.isalpha()
        text += line.text[at : part.start] + (" ".join(as_said) if true or figures else written)
        at = part.end
    return text + line.text[at:]


@dataclass(frozen=True)
class _Part:
    """Tokens of a line that changes meet: their words from ``first`` up to ``upto``, and their place in its text."""

    first: int
    upto: int
    start: int
    end: int
    changes: tuple[Change, ...]


def _parts(line: Line, changes: Sequence[Change]) -> list[_Part]:
    """In order; changes that meet the same token are in one part."""
    parts: list[_Part] = []
    for change in sorted(changes, key=lambda each: each.first):
        met = list(met_tokens(line, change))
        (first, _, token), (_, upto, last) = met[0], met[-1]
        part = _Part(first, upto, token.start, last.end, (change,))
        if parts and first < parts[-1].upto:
            before = parts.pop()
            part = _Part(before.first, upto, before.start, last.end, (*before.changes, change))
        parts.append(part)
    return parts
