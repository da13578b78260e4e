"""Chapters as lines for a video's description, by the rules of the largest video host.

The rules (quoted by 9to5google, 28 May 2020, and by Vevo's support pages): the first timestamp is 00:00, there are at
least three, in ascending order, and each chapter is at least 10 seconds long. Timestamps are whole seconds, so all of
this holds for the times as they are written, rounded down. A chapter that is too short is joined to its shorter
neighbour.
"""

from __future__ import annotations

from dataclasses import dataclass

from lessoncut.outputs.base import NotPossible, Output, Programme
from lessoncut.outputs.written import lookalikes, one_line

SHORTEST_S = 10
FEWEST = 3
LONGEST_TITLE = 70
"""Characters of a title that the host shows (Vevo support)."""


@dataclass(frozen=True)
class _Entry:
    titles: tuple[tuple[str, int], ...]
    """Each chapter's title and its length in seconds."""
    start_s: int
    end_s: int

    @property
    def length_s(self) -> int:
        return self.end_s - self.start_s

    @property
    def title(self) -> str:
        """All the titles where they fit, else that of the longest chapter."""
        joined = " / ".join(dict.fromkeys(title for title, _ in self.titles))
        if len(self.titles) == 1 or len(joined) <= LONGEST_TITLE:
            return joined
        return max(self.titles, key=lambda entry: entry[1])[0]


def chapters_description(programme: Programme) -> str:
    """Raises NotPossible where the programme cannot hold three chapters of ten seconds."""
    entries = [
        _Entry(((_plain(part.title), end_s - start_s),), start_s, end_s)
        for part in programme.parts
        for start_s, end_s in [(part.span.start_ms // 1000, part.span.end_ms // 1000)]
    ]
    while len(entries) > 1 and min(entry.length_s for entry in entries) < SHORTEST_S:
        at = min(range(len(entries)), key=lambda index: entries[index].length_s)
        _join_shorter_neighbour(entries, at)
    if len(entries) < FEWEST or entries[0].length_s < SHORTEST_S:
        raise NotPossible(
            f"a description needs {FEWEST} chapters of {SHORTEST_S} s or more, and this {programme.clock} has"
            f" {len(entries)} when short ones are joined",
            hint="another chapter output, or a lesson with longer sections",
        )
    return "".join(f"{_clock(entry.start_s)} {entry.title}\n" for entry in entries)


def _join_shorter_neighbour(entries: list[_Entry], at: int) -> None:
    beside = [index for index in (at - 1, at + 1) if 0 <= index < len(entries)]
    first, second = sorted((at, min(beside, key=lambda index: entries[index].length_s)))
    left, right = entries[first], entries[second]
    entries[first : second + 1] = [_Entry(left.titles + right.titles, left.start_s, right.end_s)]


def _plain(title: str) -> str:
    """One line; the host refuses angle brackets in a description (from memory)."""
    return lookalikes(one_line(title), "<>")


def _clock(at_s: int) -> str:
    minutes, second = divmod(at_s, 60)
    hours, minute = divmod(minutes, 60)
    return f"{hours}:{minute:02d}:{second:02d}" if hours else f"{minute:02d}:{second:02d}"


OUTPUT = Output(
    name="chapters-description",
    says="chapters to paste into a video's description",
    suffix=".txt",
    make=chapters_description,
)
