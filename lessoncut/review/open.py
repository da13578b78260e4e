"""Runs the review: finds the one that runs already, or starts it and opens the page."""

from __future__ import annotations

import json
import logging
import os
import socket
from collections.abc import Callable
from pathlib import Path

import uvicorn

from lessoncut import files
from lessoncut.errors import ToolError
from lessoncut.review.desk import Desk
from lessoncut.review.guard import Keys
from lessoncut.review.server import app
from lessoncut.store import LessonFolder

LOOPBACK = "127.0.0.1"


def review(folder: LessonFolder, told: Callable[[str, bool], None], port: int = 0) -> None:
    """Serve until Ctrl-C. ``told`` gets the page's address, and whether it is a review that was running already.

    ``port`` 0 is any free one. Raises LessonFolderError when nothing was analysed or the disk is full, ToolError when
    the port is taken.
    """
    with folder.reviewing() as place:
        if place is None:
            told(_running(folder), True)
            return
        desk = Desk(folder)
        desk.seen()
        with listening(port) as listener:
            server, address = served(desk, listener)
            _write_for_owner(place, json.dumps({"address": address, "process": os.getpid()}))
            told(address, False)
            server.run(sockets=[listener])


def served(desk: Desk, listener: socket.socket) -> tuple[uvicorn.Server, str]:
    """The server, not yet running, and the page's address with its token."""
    keys = Keys()
    port = listener.getsockname()[1]
    config = uvicorn.Config(
        app(desk, port, keys),
        log_level=logging.WARNING,
        access_log=False,
        server_header=False,
        lifespan="off",
        ws="none",
        timeout_graceful_shutdown=2,
    )
    return uvicorn.Server(config), f"http://{LOOPBACK}:{port}/?token={keys.token}"


def _running(folder: LessonFolder) -> str:
    """The address of the review that runs already. Raises ToolError."""
    try:
        return str(json.loads(folder.review_found())["address"])
    except (ValueError, KeyError, TypeError) as error:
        raise ToolError(
            "another review of this lesson is just starting", where=str(folder.path), hint="run it again in a second"
        ) from error


def listening(port: int) -> socket.socket:
    """Raises ToolError when the port is taken."""
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        listener.bind((LOOPBACK, port))
    except OSError as error:
        listener.close()
        raise ToolError(f"port {port} cannot be used ({error.strerror})", hint="leave --port out") from error
    listener.listen(64)
    return listener


def _write_for_owner(path: Path, text: str) -> None:
    """The address lets whoever has it in: nobody else may read it. Raises LessonFolderError."""
    try:
        path.unlink(missing_ok=True)
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text)
    except OSError as error:
        raise files.cannot_write(path, error) from error
