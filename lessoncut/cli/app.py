"""The commands by name, in the order in which a teacher meets them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated

import typer

from lessoncut import __version__
from lessoncut.cli import analyzing, batching, deciding, drilling, exporting, looking, previewing, reviewing
from lessoncut.cli.running import guarded, session

app = typer.Typer(
    name="lessoncut",
    help="Turn one raw take of a pronunciation lesson and its script into the finished lesson.",
    epilog="Example: lessoncut analyze take.mp4 script.md --lesson monday",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
)


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"lessoncut {__version__}")
        raise typer.Exit


@app.callback()
def everywhere(
    version: Annotated[  # noqa: ARG001 - typer calls back
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Say which lessoncut this is.")
    ] = False,
    debug: Annotated[bool, typer.Option("--debug", help="Show every detail of a failure.")] = False,
) -> None:
    session.debug = debug


COMMANDS: dict[str, tuple[Callable[..., None], str]] = {
    "sounds": (drilling.sounds, "lessoncut sounds script.md v/w"),
    "analyze": (analyzing.analyze, "lessoncut analyze take.mp4 script.md --lesson monday"),
    "show": (looking.show, "lessoncut show monday"),
    "review": (reviewing.review, "lessoncut review monday"),
    "decide": (deciding.decide, "lessoncut decide monday F02 keep_earlier"),
    "undo": (deciding.undo, "lessoncut undo monday"),
    "redo": (deciding.redo, "lessoncut redo monday"),
    "decisions": (deciding.decisions, "lessoncut decisions monday"),
    "gaps": (looking.gaps, "lessoncut gaps monday --level A2"),
    "preview": (previewing.preview, "lessoncut preview monday --line 12"),
    "export": (exporting.export, "lessoncut export monday --only captions-webvtt --only gap-sheet"),
    "outputs": (exporting.outputs, "lessoncut outputs"),
    "batch": (batching.batch, "lessoncut batch october --only captions-webvtt"),
    "draft-script": (analyzing.draft_script, "lessoncut draft-script take.mp4 --to script.md"),
    "demo": (analyzing.demo, "lessoncut demo"),
}
"""Every command: what it runs, and the example that its help ends with."""


def _first_sentence(command: Callable[..., None]) -> str:
    """For the list of commands, where typer would cut it short."""
    words = " ".join((command.__doc__ or "").split())
    return f"{words.partition('. ')[0].removesuffix('.')}."


for _name, (_command, _example) in COMMANDS.items():
    app.command(_name, short_help=_first_sentence(_command), epilog=f"Example: {_example}")(guarded(_command))
