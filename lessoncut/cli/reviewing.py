"""``review``."""

from __future__ import annotations

import webbrowser
from typing import Annotated

import typer

from lessoncut.cli.options import Lesson, open_folder
from lessoncut.cli.terminal import answers, note, plain

Port = Annotated[
    int,
    typer.Option("--port", metavar="NUMBER", help="The port to listen on; 0 is any that is free.", min=0, max=65535),
]
Browser = Annotated[bool, typer.Option("--browser/--no-browser", help="Open the page, or only print its address.")]


def review(lesson: Lesson, port: Port = 0, browser: Browser = True) -> None:
    """Decide by eye and ear: open the line sheet in the browser."""
    from lessoncut.review.open import review as serve  # noqa: PLC0415 - slow to import

    def told(address: str, running: bool) -> None:
        answers().print(plain(address), soft_wrap=True)
        note("It is open already." if running else "Only this machine can open it. Ctrl-C ends it.")
        if browser:
            webbrowser.open(address)

    serve(open_folder(lesson), told, port)
