"""The command line. No lesson logic: what is asked for goes to the workflow, what comes back is printed."""

from __future__ import annotations

from lessoncut.cli.app import app


def main() -> None:
    """The ``lessoncut`` command."""
    app()
