"""Every error lessoncut raises on purpose.

    LessoncutError              exit code 1
    +-- InputError              exit code 2: something the user gave cannot be used
    |   +-- TakeError           the recording
    |   +-- ScriptError         the script
    |   +-- LessonFolderError   the lesson folder, or a file inside it
    |   +-- ChoiceError         a finding, choice, line, level or output name that does not exist
    +-- ToolError               exit code 3: ffmpeg, a model or another part of the installation failed
    +-- Cancelled               exit code 130: the user stopped it; what was done is kept

A lower library's exception never reaches the user: the module that calls the library turns it into one of these.
"""

from __future__ import annotations


class LessoncutError(Exception):
    """What went wrong, where, and what to try next; ``str(error)`` is all three, ready to print."""

    exit_code = 1

    def __init__(self, what: str, *, where: str | None = None, hint: str | None = None) -> None:
        self.what = what
        self.where = where
        self.hint = hint
        super().__init__(what)

    def __str__(self) -> str:
        place = f"{self.where}: " if self.where else ""
        advice = f"\n  Try: {self.hint}" if self.hint else ""
        return f"{place}{self.what}{advice}"


class InputError(LessoncutError):
    """Something the user gave cannot be used."""

    exit_code = 2


class TakeError(InputError):
    """The recording cannot be used."""


class ScriptError(InputError):
    """The script cannot be used."""


class LessonFolderError(InputError):
    """The lesson folder, or a file inside it, cannot be used."""


class ChoiceError(InputError):
    """A name or value the user chose does not exist here."""


class ToolError(LessoncutError):
    """ffmpeg, a model or another part of the installation failed."""

    exit_code = 3


class Cancelled(LessoncutError):
    """The user stopped the work; what was finished is kept."""

    exit_code = 130
