"""One command from start to end: whatever goes wrong inside becomes a sentence and an exit code."""

from __future__ import annotations

import functools
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import ParamSpec

import typer

from lessoncut.cli.terminal import note, show_error, show_failure
from lessoncut.errors import Cancelled, LessoncutError

STOPPED = "Stopped. What was done so far is kept; the same command goes on from there."
PIPE_CLOSED = 141
"""As a shell reports it when the reader of a pipe has gone away."""

Parameters = ParamSpec("Parameters")


class Session:
    """What the running command has touched, for the report of an unexpected failure."""

    debug = False
    lesson: Path | None = None


session = Session()


def guarded(command: Callable[Parameters, None]) -> Callable[Parameters, None]:
    """The command with every error told to the user and turned into its exit code."""

    @functools.wraps(command)
    def run(*args: Parameters.args, **kwargs: Parameters.kwargs) -> None:
        try:
            command(*args, **kwargs)
            sys.stdout.flush()
        except (typer.Exit, typer.Abort):
            raise
        except LessoncutError as error:
            if session.debug:
                show_failure(error, None, debug=True)
            show_error(error)
            raise typer.Exit(error.exit_code) from error
        except KeyboardInterrupt as error:
            note(STOPPED)
            raise typer.Exit(Cancelled.exit_code) from error
        except BrokenPipeError as error:
            # Python would complain once more when it flushes on its way out.
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            raise typer.Exit(PIPE_CLOSED) from error
        except Exception as error:  # the outermost place: a fault of ours must end in a report, whatever it is
            show_failure(error, session.lesson, debug=session.debug)
            raise typer.Exit(1) from error

    return run
