"""How many processor cores this process may keep busy."""

from __future__ import annotations

import os

CHOICE = "LESSONCUT_CORES"
"""Environment variable: this process's share, where several lessons are worked on at once."""


def cores() -> int:
    """The share that ``LESSONCUT_CORES`` names, else every core that the system lets this process use."""
    chosen = os.environ.get(CHOICE, "")
    if chosen.isdecimal() and int(chosen):
        return int(chosen)
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
