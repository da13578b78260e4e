"""What an output is.

How to add an output:

1. Write a module in this folder, named after the output with ``_`` for ``-``.
2. Give it a function from a ``Programme`` to the text of the file (or its bytes). Text is written as UTF-8, exactly
   as it stands. A programme that the format cannot hold: raise ``NotPossible``.
3. Say so in the module: ``OUTPUT = Output(name="line-times", says="...", suffix=".txt", make=line_times)``.
4. Put script text through the escape of the format (``written.py`` holds those that two formats share).
5. Write a test with a golden file in ``tests/outputs/golden``, and one against something outside the project.

Nothing else: ``outputs.all_outputs`` finds every module here that has an ``OUTPUT``.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from lessoncut.errors import InputError
from lessoncut.outputs.programme import Clock, Programme

__all__ = ["NotPossible", "Output", "Programme"]


class NotPossible(InputError):
    """This programme cannot be put into that format; the others are not touched by it."""


@dataclass(frozen=True)
class Output:
    """One kind of file. ``name`` is what the user asks for, ``says`` what it is good for."""

    name: str
    says: str
    suffix: str
    make: Callable[[Programme], str | bytes]

    def file_name(self, clock: Clock) -> str:
        """``captions-srt.srt``, or ``captions-srt.take.srt`` on the take's own clock."""
        return f"{self.name}{'.take' if clock == 'take' else ''}{self.suffix}"

    def content(self, programme: Programme) -> bytes:
        """The file's bytes. Raises NotPossible."""
        made = self.make(programme)
        return made.encode() if isinstance(made, str) else made
