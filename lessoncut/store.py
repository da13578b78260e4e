"""The lesson folder: the only module that knows what its files are called.

    lesson.json          says that this is a lesson folder, and of which form
    analysis.json        what was found, for other programs (docs/analysis.md)
    decisions.jsonl      what the teacher decided and set, a line each, only ever added to
    pacing.json, targets.json, teaching.json
                         read where they lie: settings from before these stood among the decisions
    outputs/             what was exported
    pick-ups/            recordings that were added on the review page
    covers/              pictures that were chosen for the practice tracks
    work/                what can be made again: the sound, what was heard, the match, the lock

Everything is written whole or not at all (``files``). What lies in ``work/`` carries a key made of all that it was
made from; under another key, or broken, it is as if it were not there.
"""

from __future__ import annotations

import fcntl
import hashlib
import json
import os
import re
import shutil
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from itertools import count
from pathlib import Path
from typing import Any, Generic, TypeVar

from lessoncut import __version__, codec, files
from lessoncut.errors import LessonFolderError
from lessoncut.journal import Journal, journal, whole_lines

Record = TypeVar("Record")

LESSON = "lessoncut.lesson"
FORM = 1
MOST_NAME = 50
_PLAIN = re.compile(r"[^\w .-]")
"""What a file that comes from elsewhere is not called here."""


@dataclass(frozen=True)
class Slot(Generic[Record]):
    """A place for one record. ``name`` is the file's name without its ending.

    What can be made again lies in ``work/``, what cannot (``chosen``) beside it.
    """

    name: str
    kind: type[Record]
    chosen: bool = False


def key_of(*parts: object) -> str:
    """One name for all that something was made from: equal parts, equal key. Parts are records or plain values."""
    spelt = json.dumps([codec.encode(part) for part in parts], sort_keys=True)
    return hashlib.sha256(spelt.encode()).hexdigest()[:24]


def source_key(*names: str) -> str:
    """A key of this version's own source under these module or folder names, and of what was fitted for it, so that no
    stage forgets it changed."""
    home = Path(__file__).parent
    digest = hashlib.sha256()
    for name in names:
        place = home / name
        sources = (*place.rglob("*.py"), *place.rglob("*.npz")) if place.is_dir() else [place.with_suffix(".py")]
        for source in sorted(sources):
            digest.update(source.relative_to(home).as_posix().encode() + b"\0" + source.read_bytes() + b"\0")
    return digest.hexdigest()[:24]


class LessonFolder:
    """One lesson folder that exists and has a form this version can read."""

    def __init__(self, path: Path) -> None:
        """Raises LessonFolderError when there is no lesson in ``path``, or one of a newer form."""
        self.path = path
        if not path.is_dir():
            raise LessonFolderError(
                "there is no such lesson folder", where=str(path), hint="lessoncut analyze TAKE SCRIPT --lesson DIR"
            )
        _check_form(path)

    @classmethod
    def found_or_made(cls, path: Path) -> LessonFolder:
        """The lesson in ``path``; a new one where the folder is missing or empty. Raises LessonFolderError."""
        check_free(path)
        if not _lesson_file(path).exists():
            try:
                path.mkdir(parents=True, exist_ok=True)
                (path / "work").mkdir(exist_ok=True)
            except OSError as error:
                raise files.cannot_write(path, error) from error
            mark = {"schema": f"{LESSON}/{FORM}", "made_with": __version__}
            files.write_whole(_lesson_file(path), codec.dumps(mark).encode())
        return cls(path)

    # -- who works here -------------------------------------------------------------------------------------------

    @contextmanager
    def locked(self) -> Iterator[None]:
        """Only one command at a time. Raises LessonFolderError naming the other one."""
        with _opened(self._work("lock")) as lock:
            try:
                fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError as error:
                raise LessonFolderError(
                    f"another lessoncut is working here ({_holder(self._work('lock'))})",
                    where=str(self.path),
                    hint="wait until it has ended",
                ) from error
            with suppress(OSError):  # on a full disk the lock holds without a name
                os.ftruncate(lock, 0)
                os.pwrite(lock, f"process {os.getpid()}, {_command()}".encode(), 0)
            files.sweep(self.path)
            files.sweep(self.path / "work")
            files.sweep(self.path / "outputs")
            yield

    def holds_answers(self) -> bool:
        """Whether anything is kept here that was expensive to find out."""
        return any(len(whole_lines(path)) > 1 for path in self.path.glob("work/*.jsonl"))

    def discard(self, made: Sequence[Path]) -> None:
        """Take a lesson away that was just begun and came to nothing, and the folders ``made`` for it, innermost first.

        A folder that was there before, or in which other things lie, stays.
        """
        shutil.rmtree(self.path / "work", ignore_errors=True)
        with suppress(OSError):
            _lesson_file(self.path).unlink()
        for folder in made:
            with suppress(OSError):
                folder.rmdir()

    # -- what can be made again -----------------------------------------------------------------------------------

    def read(self, slot: Slot[Record], key: str | None = None) -> Record | None:
        """What the slot holds; None when it holds nothing, something broken, or something made from other input.

        Without ``key``: whatever it was made from.
        """
        try:
            held = codec.loads(self._place(slot).read_text(encoding="utf-8"))
            if not isinstance(held, dict) or (key is not None and held.get("key") != key):
                return None
            return codec.decode(slot.kind, held.get("record"))
        except (OSError, UnicodeDecodeError, codec.CodecError):
            return None

    def write(self, slot: Slot[Record], key: str, record: Record) -> None:
        held = {"schema": f"lessoncut.{slot.name}/1", "key": key, "record": codec.encode(record)}
        spelt = json.dumps(held, separators=(",", ":"), allow_nan=False)
        files.write_whole(self._place(slot), spelt.encode())

    def journal(self, name: str, key: str) -> Journal:
        """The answers kept under ``name`` from the input that ``key`` stands for; others are thrown away."""
        head = json.dumps({"schema": f"lessoncut.{name}/1", "key": key})
        return journal(self._work(f"{name}.jsonl"), head)

    @property
    def work_path(self) -> Path:
        """The folder for what is only needed for a while; what a killed run leaves there is swept away."""
        return self.path / "work"

    def sound_path(self, key: str) -> Path:
        """Where the decoded sound is, or belongs."""
        return self._work(f"sound-{key}.npy")

    def levels_path(self, key: str) -> Path:
        """Where the sound's levels are, or belong."""
        return self._work(f"levels-{key}.npz")

    def peaks_path(self, key: str) -> Path:
        """Where the outline of the sound is, or belongs."""
        return self._work(f"peaks-{key}.bin")

    def preview_path(self, key: str, suffix: str) -> Path:
        """Where the copy of the take that browsers play is, or belongs."""
        return self._work(f"preview-{key}{suffix}")

    def keep_only_sound(self, key: str) -> None:
        """Throw the sound and the levels of other takes away."""
        for other in (*self.path.glob("work/sound-*.npy"), *self.path.glob("work/levels-*.npz")):
            if other not in (self.sound_path(key), self.levels_path(key)):
                other.unlink(missing_ok=True)

    # -- what stays -----------------------------------------------------------------------------------------------

    def write_analysis(self, analysis: dict[str, Any]) -> None:
        """Where the file says the same already, it is left alone. Raises LessonFolderError."""
        # A file name need not be text; in JSON its odd bytes can be written as escapes.
        content = codec.dumps(analysis).encode("utf-8", "backslashreplace")
        if not self.analysis_path.exists() or self.analysis_path.read_bytes() != content:
            files.write_whole(self.analysis_path, content)

    @property
    def analysis_path(self) -> Path:
        return self.path / "analysis.json"

    def decisions_text(self) -> str:
        """All of the decisions file, oldest line first; the last may lack its end. Empty where nothing was decided."""
        try:
            return self._decisions.read_text(encoding="utf-8", errors="replace")
        except FileNotFoundError:
            return ""
        except OSError as error:
            raise LessonFolderError(f"cannot be read ({error.strerror})", where=str(self._decisions)) from error

    @contextmanager
    def deciding(self) -> Iterator[None]:
        """While one decision is read, judged and added, no other is; waits for its turn."""
        with _opened(self._decisions) as handle:
            fcntl.flock(handle, fcntl.LOCK_EX)
            yield

    def add_decision_line(self, line: str) -> None:
        """When this returns, the line is on the disk. Raises LessonFolderError, and then nothing was added."""
        files.append_line(self._decisions, line)

    def output_path(self, name: str) -> Path:
        """Where the exported file of that name belongs; its folder is made. Raises LessonFolderError."""
        return self._made("outputs") / name

    def own_file(self, kept: str, says: str, hint: str) -> Path:
        """The path that the log keeps of a file in this folder: a lesson from elsewhere reads no file of this machine.

        Raises LessonFolderError for one that lies elsewhere.
        """
        path = self.path / kept
        if not path.resolve().is_relative_to(self.path.resolve()):
            raise LessonFolderError(f"{says} ({path})", where=str(self.path), hint=hint)
        return path

    def pick_up_path(self, name: str) -> Path:
        """Where a new pick-up of that name belongs; its folder is made. Raises LessonFolderError."""
        return next(path for path in self._places("pick-ups", name) if not path.exists())

    def keep_cover(self, name: str, content: bytes) -> Path:
        """Copy a picture into the folder, unless it lies there. Raises LessonFolderError."""
        path = next(one for one in self._places("covers", name) if not one.exists() or one.read_bytes() == content)
        if not path.exists():
            files.write_whole(path, content)
        return path

    def exported(self, name: str) -> bool:
        """Whether a file of that name was exported."""
        return (self.path / "outputs" / name).is_file()

    def revision(self) -> str:
        """Another text whenever the analysis, a decision, or what is set for the whole lesson has changed."""
        return ".".join(_looks(path) for path in (self._work("found.json"), self._decisions))

    @contextmanager
    def reviewing(self) -> Iterator[Path | None]:
        """Where the one review says how to find it; None while another one holds the place."""
        with _opened(self._work("review.lock")) as lock:
            try:
                fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                yield None
                return
            place = self._work("review.json")
            files.sweep(self.path / "pick-ups")
            try:
                yield place
            finally:
                place.unlink(missing_ok=True)

    def review_found(self) -> str:
        """What the running review says of itself; empty where it has not said it yet."""
        try:
            return self._work("review.json").read_text(encoding="utf-8")
        except (OSError, UnicodeDecodeError):
            return ""

    def report_path(self) -> Path:
        """Where the record of an unexpected failure belongs."""
        return self._work("failure.txt")

    def _places(self, folder_name: str, name: str) -> Iterator[Path]:
        """Where a file from elsewhere may lie: under its own name made plain, else with a number behind it."""
        folder = self._made(folder_name)
        plain = Path(_PLAIN.sub("_", Path(name).name[-MOST_NAME:]).lstrip(" ._-") or folder_name.removesuffix("s"))
        return (folder / f"{plain.stem}{f' {number}' if number else ''}{plain.suffix}" for number in count())

    def _made(self, name: str) -> Path:
        folder = self.path / name
        try:
            folder.mkdir(exist_ok=True)
        except OSError as error:
            raise files.cannot_write(folder, error) from error
        return folder

    @property
    def _decisions(self) -> Path:
        return self.path / "decisions.jsonl"

    def _place(self, slot: Slot[Any]) -> Path:
        return (self.path if slot.chosen else self.path / "work") / f"{slot.name}.json"

    def _work(self, name: str) -> Path:
        return self.path / "work" / name


def holds_lesson(path: Path) -> bool:
    return _lesson_file(path).exists()


def check_free(path: Path) -> None:
    """Raises LessonFolderError when ``path`` can be neither a lesson folder nor become one."""
    if path.exists() and not path.is_dir():
        raise LessonFolderError("this is a file, not a folder", where=str(path), hint="name a folder with --lesson")
    if _lesson_file(path).exists():
        _check_form(path)
    elif path.is_dir():
        try:
            strangers = sorted(entry.name for entry in path.iterdir() if not entry.name.startswith("."))
        except OSError as error:
            raise files.cannot_write(path, error) from error
        if _lesson_file(path).exists():  # another lessoncut has made it this very moment
            _check_form(path)
        elif strangers and strangers != ["work"]:
            raise LessonFolderError(
                f"this folder holds other things ({', '.join(strangers[:3])}) and no lesson",
                where=str(path),
                hint="name an empty or a new folder with --lesson",
            )


def _check_form(path: Path) -> None:
    file = _lesson_file(path)
    try:
        mark = codec.loads(file.read_text(encoding="utf-8"))
    except FileNotFoundError as error:
        raise LessonFolderError(
            "this folder holds no lesson", where=str(path), hint="lessoncut analyze TAKE SCRIPT --lesson DIR"
        ) from error
    except (OSError, UnicodeDecodeError, codec.CodecError) as error:
        raise _broken(file) from error
    name, _, form = str(mark.get("schema") if isinstance(mark, dict) else "").partition("/")
    if name != LESSON or not form.isdecimal():
        raise _broken(file)
    if int(form) > FORM:
        raise LessonFolderError(
            f"this lesson was made by a newer lessoncut (form {form}; this one, {__version__}, reads up to {FORM})",
            where=str(path),
            hint="pip install --upgrade lessoncut",
        )


def _broken(file: Path) -> LessonFolderError:
    return LessonFolderError(
        "this file is broken",
        where=str(file),
        hint="analyze into a new folder, and copy decisions.jsonl there before deciding anything",
    )


def _lesson_file(path: Path) -> Path:
    return path / "lesson.json"


@contextmanager
def _opened(path: Path) -> Iterator[int]:
    try:
        path.parent.mkdir(exist_ok=True)
        handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o666)
    except OSError as error:
        raise files.cannot_write(path, error) from error
    try:
        yield handle
    finally:
        os.close(handle)


def _looks(path: Path) -> str:
    try:
        status = path.stat()
    except OSError:
        return "0"
    return f"{status.st_size:x}-{status.st_mtime_ns:x}"


def _holder(lock: Path) -> str:
    try:
        return lock.read_text(encoding="utf-8", errors="replace").strip() or "it has just begun"
    except OSError:
        return "its name cannot be read"


def _command() -> str:
    return " ".join(["lessoncut", *sys.argv[1:2]])
