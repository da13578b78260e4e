"""Answers that were expensive, kept line by line as they come, so that a stop loses only the one being asked for."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from lessoncut import codec, files


@dataclass
class Journal:
    """Answers that were expensive, each under its name, kept the moment they are known."""

    path: Path
    known: dict[str, Any] = field(default_factory=dict)

    def keep(self, name: str, value: Any) -> None:
        """Raises LessonFolderError when the disk does not take it."""
        if name not in self.known:
            files.append_line(self.path, json.dumps([name, value]), sync=False)
            self.known[name] = value


def journal(path: Path, head: str) -> Journal:
    """What is kept in the file, if ``head`` is its first line; else it is begun anew. Raises LessonFolderError."""
    lines = whole_lines(path)
    if not lines or lines[0] != head:
        files.write_whole(path, f"{head}\n".encode())
        return Journal(path)
    return Journal(path, dict(_answers(lines[1:])))


def whole_lines(path: Path) -> list[str]:
    """The lines that were written to their end."""
    try:
        return path.read_text(encoding="utf-8", errors="replace").split("\n")[:-1]
    except OSError:
        return []


def _answers(lines: list[str]) -> Iterator[tuple[str, Any]]:
    """Broken lines are left out: their answers are asked for again."""
    for line in lines:
        try:
            held = codec.loads(line)
        except codec.CodecError:
            continue
        if isinstance(held, list) and len(held) == 2 and isinstance(held[0], str):
            yield held[0], held[1]
