"""Outputs: the files made from a lesson. One module a format; see ``base`` for how to add one."""

from __future__ import annotations

import pkgutil
from functools import cache
from importlib import import_module

from lessoncut.errors import ChoiceError
from lessoncut.outputs.base import Kind, NotPossible, Output
from lessoncut.outputs.programme import Clock, Programme, on_lesson, on_take

__all__ = ["Clock", "Kind", "NotPossible", "Output", "Programme", "all_outputs", "named", "on_lesson", "on_take"]


@cache
def all_outputs() -> tuple[Kind, ...]:
    """Every output, by name."""
    modules = (import_module(f"{__name__}.{found.name}") for found in pkgutil.iter_modules(__path__))
    return tuple(sorted((module.OUTPUT for module in modules if hasattr(module, "OUTPUT")), key=lambda o: o.name))


def named(name: str) -> Kind:
    """The output of that name. Raises ChoiceError."""
    for output in all_outputs():
        if output.name == name:
            return output
    names = [output.name for output in all_outputs()]
    alike = [known for known in names if name and name in known]
    raise ChoiceError(f"there is no output called {name!r}", hint=f"one of {', '.join(alike or names)}")
