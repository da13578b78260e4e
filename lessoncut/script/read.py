"""Read a script from a file."""

from __future__ import annotations

import stat
from pathlib import Path

from lessoncut.errors import ScriptError
from lessoncut.script.assemble import assemble
from lessoncut.script.formats import format_for
from lessoncut.script.records import Script

MOST_BYTES = 5 * 1024 * 1024
"""A script's file may be this large: hundreds of times a lesson of two thousand lines."""


def read_script(path: Path) -> Script:
    """The script in this file, in the format that its ending names.

    Raises ScriptError: no such file, too large, another format, not text, two passages, nothing to speak.
    """
    where = shown(path)
    try:
        content = _content(path)
        return assemble(format_for(path.suffix).blocks(content), untitled=path.stem)
    except ScriptError as error:
        place = f"{where}, {error.where}" if error.where else where
        raise ScriptError(error.what, where=place, hint=error.hint) from error
    except OSError as error:
        raise ScriptError(
            f"the script cannot be read: {error.strerror or error}", where=where, hint="check its name and folder"
        ) from error


def shown(path: Path) -> str:
    """The path as it can be printed, whatever its name holds."""
    written = str(path)
    return written if written.isprintable() else ascii(written)


def _content(path: Path) -> bytes:
    if not stat.S_ISREG(path.stat().st_mode):
        raise ScriptError("the script is not a file", hint="name the script's file itself, not a folder")
    with path.open("rb") as file:
        content = file.read(MOST_BYTES + 1)
    if len(content) > MOST_BYTES:
        raise ScriptError(
            f"the script is larger than {MOST_BYTES // 1024 // 1024} MB",
            hint="take out what is not text, or split it into several lessons",
        )
    return content
