"""Writes docs/commands.md from the commands themselves: python docs/make_commands.py"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import typer

from lessoncut.cli.app import COMMANDS, app

PAGE = Path(__file__).with_name("commands.md")

HEAD = """\
# The commands

This page is made from the commands themselves (`python docs/make_commands.py`); `lessoncut COMMAND --help` says the
same. Answers go to standard output; progress, notes and errors go to standard error. `--json` prints the same answer
for other programs.

Exit codes: 0 done; 1 a fault of lessoncut's own; 2 something you gave cannot be used (the message says what to try);
3 ffmpeg, a model or another part of the installation failed; 130 stopped with Ctrl-C, and what was done is kept.

`lessoncut --version` says which lessoncut this is; `lessoncut --debug COMMAND ...` shows every detail of a failure.
"""


def page() -> str:
    """The whole page."""
    commands = typer.main.get_command(app).commands  # type: ignore[attr-defined]
    return "\n".join([HEAD, *(_section(name, commands[name]) for name in COMMANDS)])


def _section(name: str, command: Any) -> str:
    arguments = [part for part in command.params if part.param_type_name == "argument"]
    options = [part for part in command.params if part.param_type_name == "option" and part.name != "help"]
    usage = " ".join(["lessoncut", name, *(part.metavar for part in arguments), *(["[OPTIONS]"] if options else [])])
    lines = [f"## {name}", "", " ".join(command.help.split()), "", "```text", usage, "```", ""]
    lines += [f"- `{part.metavar}`: {part.help}" for part in arguments]
    lines += [f"- {_spelt(part)}: {part.help}" for part in options]
    return "\n".join([*lines, "", "```sh", COMMANDS[name][1], "```", ""])


def _spelt(option: Any) -> str:
    value = f" {option.metavar or option.name.upper()}" if _takes_value(option) else ""
    names = " / ".join(f"`{name}{value}`" for name in (*option.opts, *option.secondary_opts))
    return f"{names} (needed)" if option.required else names


def _takes_value(option: Any) -> bool:
    return not (getattr(option, "is_flag", False) or option.secondary_opts)


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
