"""The script formats: every module of this folder is one."""

from __future__ import annotations

import importlib
import pkgutil
from functools import cache

from lessoncut.errors import ScriptError
from lessoncut.script.formats.base import ScriptFormat

__all__ = ["ScriptFormat", "format_for", "script_formats"]


@cache
def script_formats() -> tuple[ScriptFormat, ...]:
    """The ``FORMAT`` of every module here, by name."""
    modules = (importlib.import_module(f"{__name__}.{found.name}") for found in pkgutil.iter_modules(__path__))
    found = [module.FORMAT for module in modules if hasattr(module, "FORMAT")]
    return tuple(sorted(found, key=lambda format_: format_.name))


def format_for(suffix: str) -> ScriptFormat:
    """The format of files that end like this (``.md``; no ending at all is plain text). Raises ScriptError."""
    for format_ in script_formats():
        if suffix.lower() in format_.suffixes:
            return format_
    known = ", ".join(ending for format_ in script_formats() for ending in format_.suffixes if ending)
    raise ScriptError(f"a script cannot be read from a file that ends in {suffix}", hint=f"save it as one of {known}")
