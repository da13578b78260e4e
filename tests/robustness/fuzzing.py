"""What is fuzzed: three doors through which somebody else's bytes come in.

A target takes any bytes. It returns when the product answered as it should (also with an error for the user) and
raises whatever else it raised: that is a finding. How the bytes are read stands with each target, so that a corpus can
be written by hand.
"""

from __future__ import annotations

import json
import shutil
import tempfile
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from starlette.testclient import TestClient

from lessoncut import outputs
from lessoncut.errors import LessoncutError, ScriptError
from lessoncut.outputs.base import Output
from lessoncut.review.desk import Desk
from lessoncut.review.guard import Keys
from lessoncut.review.server import app
from lessoncut.review.view import state
from lessoncut.script.assemble import assemble
from lessoncut.script.formats import script_formats
from lessoncut.store import LessonFolder
from lessoncut.workflow.lesson import paced, pacing_of
from lessoncut.workflow.opened import added_to, opened
from lessoncut.workflow.sound import Sound
from lessoncut.workflow.studying import choices_of, targets_of
from tests.review.lessons import reviewed
from tests.script.samples import word_document
from tests.script.test_word import edited

CORPUS = Path(__file__).parent / "corpus"
PORT = 8123
MOST_LINES = 100_000
MOST_LOG_BYTES = 20_000


# -- scripts ----------------------------------------------------------------------------------------------------------


def script(content: bytes) -> None:
    """The first byte tells the format (in the order of their names); one more than there are: the rest is the XML of
    a Word document's text.
    """
    if not content:
        return
    formats = script_formats()
    kind, body = content[0] % (len(formats) + 1), content[1:]
    if kind == len(formats):
        kind = next(n for n, one in enumerate(formats) if ".docx" in one.suffixes)
        body = edited(_document(), "word/document.xml", lambda _: content[1:])
    try:
        read = assemble(formats[kind].blocks(body), untitled="script")
    except ScriptError as error:
        assert error.what
        return
    assert 0 < len(read.lines) < MOST_LINES
    assert len({line.id for line in read.lines}) == len(read.lines)
    for line in read.lines:
        assert line.text.strip() == line.text != ""
        assert "\n" not in line.text and "\0" not in line.text
        assert 0 <= line.section < len(read.sections)
        assert all(0 <= mark.start < mark.end <= len(line.text) for mark in line.marks)
    line_ids = [line.id for line in read.passage]
    assert line_ids == sorted(line_ids, key=lambda one: int(one[1:]))


@cache
def _document() -> bytes:
    return word_document()


# -- lesson folders ---------------------------------------------------------------------------------------------------

ODD: tuple[Any, ...] = (
    None, True, -1, 0, 1, 2**31, 2**63, -(2**70), 1e308, -0.5, "", "L001", "\u0000", "\ud800", "a" * 5000, [], [0, 0],
    [5, 1], [-(10**12), 10**12], {}, {"a": 1}, "1/0", "25/1", "keep_earlier", "../../secret", "/etc/passwd",
)  # fmt: skip
"""What a value may have become in a file that somebody else wrote."""


def folder(content: bytes) -> None:
    """First byte: which file of the lesson. Second: how it is changed; 0 mod 3: the rest is the file. 1: from the
    place that two bytes tell (in 65,536ths), as many bytes as the fifth are replaced by the rest. 2: in a file of JSON,
    each two bytes replace one value by one of ``ODD``.
    """
    if len(content) < 2:
        return
    at, before = _lesson()
    names = sorted(before)
    name = names[content[0] % len(names)]
    try:
        (at / name).write_bytes(_changed(before[name], content[1] % 3, content[2:]))
        for act in _ACTS:
            try:
                act(at)
            except LessoncutError as error:
                assert str(error)
    finally:
        for path in at.rglob("*"):
            if path.is_file() and str(path.relative_to(at)) not in before:
                path.unlink()
        for other, bytes_before in before.items():
            if not (at / other).exists() or (at / other).read_bytes() != bytes_before:
                (at / other).write_bytes(bytes_before)


def _changed(before: bytes, how: int, change: bytes) -> bytes:
    if how == 0:
        return change
    if how == 1:
        place = int.from_bytes(change[:2], "big") * len(before) // 65_536
        return before[:place] + change[3:] + before[place + (change[2] if len(change) > 2 else 0) :]
    lines = before.decode("utf-8", "replace").splitlines() if before[:1] in (b"{", b"[") else []
    try:
        value = json.loads(before) if lines else None
    except ValueError:  # a file of lines
        value = [json.loads(line) for line in lines]
        return b"".join(json.dumps(_odd(line, change)).encode() + b"\n" for line in value)
    return json.dumps(_odd(value, change)).encode()


def _odd(value: Any, change: bytes) -> Any:
    places = list(_places(value))
    for which, what in zip(change[::2], change[1::2], strict=False):
        if places:
            holder, key = places[which * 7919 % len(places)]
            holder[key] = ODD[what % len(ODD)]
    return value


def _places(value: Any) -> Iterator[tuple[Any, Any]]:
    inside = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, part in inside:
        yield value, key
        yield from _places(part)


def _shown(at: Path) -> None:
    lesson = opened(LessonFolder(at))
    assert all(isinstance(note, str) for note in lesson.notes)
    added_to(lesson.folder)


def _served(at: Path) -> None:
    json.dumps(state(Desk(LessonFolder(at)).seen()))


def _written(at: Path) -> None:
    folder = LessonFolder(at)
    sheet = paced(opened(folder), pacing_of(folder))
    targets_of(folder)
    choices_of(folder)
    for kind in outputs.all_outputs():
        if isinstance(kind, Output) and not kind.of_study and kind.suffix in (".srt", ".csv", ".json"):
            kind.content(sheet.on_lesson)


def _sounding(at: Path) -> None:
    lesson = opened(LessonFolder(at))
    sound = Sound(lesson.folder, lesson.found.take)
    assert sound.samples().dtype == np.int16
    sound.levels()


_ACTS: tuple[Callable[[Path], None], ...] = (_shown, _served, _written, _sounding)


@cache
def _lesson() -> tuple[Path, dict[str, bytes]]:
    """One lesson for the whole run, and all its files."""
    room = Path(tempfile.mkdtemp(prefix="lessoncut-fuzzing-"))
    _rooms.append(room)
    at = reviewed(room / "lesson").path
    (at / "decisions.jsonl").write_text(
        '{"does": "decide", "number": 1, "at_utc": "2026-01-01T00:00:00Z", "subject": {"kind": "finding", "finding": '
        '"repeated_line", "line": {"text": "The lamp turns every seven seconds.", "nth": 1}}, '
        '"choice": "keep_earlier"}\n'
        '{"does": "undo", "number": 2, "at_utc": "2026-01-01T00:00:01Z"}\n'
    )
    (at / "pacing.json").write_text('{"schema": "lessoncut.pacing/1", "key": "", "record": {"level": "B1"}}')
    files = {str(path.relative_to(at)): path for path in at.rglob("*") if path.is_file()}
    return at, {name: path.read_bytes() for name, path in files.items() if path.name not in ("lock", "failure.txt")}


_rooms: list[Path] = []


def leave() -> None:
    """Take away what the targets made."""
    for room in _rooms:
        shutil.rmtree(room, ignore_errors=True)
    _rooms.clear()
    _lesson.cache_clear()
    _page.cache_clear()


# -- the review's server ----------------------------------------------------------------------------------------------

METHODS = ("GET", "POST", "HEAD", "PUT", "DELETE", "OPTIONS")


def server(content: bytes) -> None:
    """The first line is the method and the path, the second a header (``name: value``), the rest the body.

    One that begins with ``!`` comes from a stranger: without the cookie, and then nothing may be answered or changed.
    """
    page, stranger, log = _page()
    asks = stranger if content[:1] == b"!" else page
    first, _, rest = content.removeprefix(b"!").partition(b"\n")
    header, _, body = rest.partition(b"\n")
    method, _, path = first.decode("latin-1").partition(" ")
    name, _, value = header.decode("latin-1").partition(":")
    own = name.strip().lower() in ("content-length", "transfer-encoding")  # the client writes these itself
    allowed = _is_token(name.strip()) and value.isprintable() and not own
    headers = {name.strip().encode(): value.strip().encode("latin-1")} if allowed else {}
    before = log.read_bytes() if log.exists() else b""
    plain = "".join(char for char in path if char.isprintable() and not char.isspace() and char != "\\")
    url = "/" + plain.lstrip("/")  # the client takes two strokes for another host
    if method == "POST" and url.startswith(("/export", "/pick-up", "/take")):
        return  # these begin long work, which is tested elsewhere
    answer = asks.request(method if method in METHODS else "GET", url, headers=headers, content=body or None)
    assert answer.status_code < 500
    assert answer.headers["x-content-type-options"] == "nosniff"
    if asks is stranger:
        assert answer.status_code in (403, 421), answer.status_code
        assert (log.read_bytes() if log.exists() else b"") == before
    if answer.headers.get("content-type") == "application/json" and method != "HEAD":
        answer.json()
    if log.exists() and log.stat().st_size > MOST_LOG_BYTES:
        log.write_bytes(b"")


def _is_token(name: str) -> bool:
    """RFC 9110, 5.6.2."""
    return bool(name) and all(char.isascii() and (char.isalnum() or char in "!#$%&'*+-.^_`|~") for char in name)


@cache
def _page() -> tuple[TestClient, TestClient, Path]:
    at, _ = _lesson()
    own = Path(shutil.copytree(at, at.parent / "served"))
    keys = Keys()
    serving = app(Desk(LessonFolder(own)), PORT, keys)
    stranger = TestClient(serving, base_url=f"http://127.0.0.1:{PORT}", follow_redirects=False)
    page = TestClient(serving, base_url=f"http://127.0.0.1:{PORT}", follow_redirects=False)
    page.get(f"/?token={keys.token}")
    page.headers["origin"] = f"http://127.0.0.1:{PORT}"
    return page, stranger, own / "decisions.jsonl"


TARGETS: dict[str, Callable[[bytes], None]] = {"script": script, "folder": folder, "server": server}


def corpus(name: str) -> list[bytes]:
    return [path.read_bytes() for path in sorted((CORPUS / name).iterdir())]
