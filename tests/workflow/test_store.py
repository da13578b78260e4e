"""The lesson folder: what it takes for one, what it refuses, what it keeps."""

import json
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from lessoncut.errors import LessonFolderError
from lessoncut.store import LessonFolder, Slot, check_free, key_of, source_key
from lessoncut.times import Span


@dataclass(frozen=True)
class Note:
    text: str
    spans: tuple[Span, ...]


NOTE = Slot("note", Note)
A_NOTE = Note("vowels", (Span(0, 250), Span(400, 900)))


@pytest.fixture
def folder(tmp_path: Path) -> LessonFolder:
    return LessonFolder.found_or_made(tmp_path / "lesson")


def test_new_folder_is_found_again(tmp_path: Path) -> None:
    made = LessonFolder.found_or_made(tmp_path / "deep" / "lesson")
    assert LessonFolder(made.path).path == made.path
    assert LessonFolder.found_or_made(made.path).path == made.path


def test_empty_folder_becomes_a_lesson(tmp_path: Path) -> None:
    (tmp_path / ".hidden-by-the-desktop").touch()
    LessonFolder.found_or_made(tmp_path)
    assert (tmp_path / "lesson.json").exists()


def test_foreign_folder_is_refused_and_left_alone(tmp_path: Path) -> None:
    (tmp_path / "holiday.jpg").write_bytes(b"x")
    with pytest.raises(LessonFolderError, match=r"holds other things \(holiday\.jpg\)"):
        LessonFolder.found_or_made(tmp_path)
    assert [entry.name for entry in tmp_path.iterdir()] == ["holiday.jpg"]


def test_a_lesson_that_another_makes_at_this_moment_is_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    lesson, look = tmp_path / "lesson", Path.iterdir
    lesson.mkdir()

    def made_meanwhile(folder: Path) -> Iterator[Path]:
        monkeypatch.undo()
        LessonFolder.found_or_made(folder)
        return look(folder)

    monkeypatch.setattr(Path, "iterdir", made_meanwhile)
    check_free(lesson)
    assert (lesson / "lesson.json").exists()


def test_file_in_place_of_a_folder_is_refused(tmp_path: Path) -> None:
    (tmp_path / "lesson").touch()
    with pytest.raises(LessonFolderError, match="a file, not a folder"):
        check_free(tmp_path / "lesson")


def test_missing_and_empty_folders_are_no_lessons(tmp_path: Path) -> None:
    with pytest.raises(LessonFolderError, match="no such lesson folder"):
        LessonFolder(tmp_path / "nowhere")
    with pytest.raises(LessonFolderError, match="holds no lesson"):
        LessonFolder(tmp_path)


@pytest.mark.parametrize(
    ("content", "says"),
    [
        ('{"schema": "lessoncut.lesson/2"}', "newer lessoncut"),
        ('{"schema": "lessoncut.lesson/999"}', "newer lessoncut"),
        ('{"schema": "something.else/1"}', "broken"),
        ('{"schema": 7}', "broken"),
        ("[]", "broken"),
        ("{", "broken"),
        ("", "broken"),
        ("\ud800", "broken"),
        ("[" * 100_000, "broken"),
    ],
)
def test_other_forms_are_refused(folder: LessonFolder, content: str, says: str) -> None:
    (folder.path / "lesson.json").write_bytes(content.encode("utf-8", "surrogatepass"))
    with pytest.raises(LessonFolderError, match=says):
        LessonFolder(folder.path)
    with pytest.raises(LessonFolderError, match=says):
        LessonFolder.found_or_made(folder.path)


def test_record_comes_back_under_its_key_only(folder: LessonFolder) -> None:
    folder.write(NOTE, "k1", A_NOTE)
    assert folder.read(NOTE, "k1") == A_NOTE
    assert folder.read(NOTE) == A_NOTE
    assert folder.read(NOTE, "k2") is None


@pytest.mark.parametrize(
    "content", ["", "{", "[]", "null", '{"key": "k1"}', '{"key": "k1", "record": {"text": 1, "spans": []}}', "\0"]
)
def test_broken_record_is_as_if_absent(folder: LessonFolder, content: str) -> None:
    folder.write(NOTE, "k1", A_NOTE)
    (folder.path / "work" / "note.json").write_text(content)
    assert folder.read(NOTE, "k1") is None


def test_journal_gives_back_what_was_kept(folder: LessonFolder) -> None:
    journal = folder.journal("answers", "k1")
    journal.keep("a", [1, 2])
    journal.keep("b", {"x": None})
    journal.keep("a", "a second answer is not kept")
    assert folder.journal("answers", "k1").known == {"a": [1, 2], "b": {"x": None}}


def test_journal_of_other_input_is_empty(folder: LessonFolder) -> None:
    folder.journal("answers", "k1").keep("a", 1)
    assert folder.journal("answers", "k2").known == {}
    assert folder.journal("answers", "k1").known == {}


def test_journal_survives_a_torn_line(folder: LessonFolder) -> None:
    folder.journal("answers", "k1").keep("a", 1)
    with (folder.path / "work" / "answers.jsonl").open("a") as file:
        file.write('["b", {"to')
    journal = folder.journal("answers", "k1")
    assert journal.known == {"a": 1}
    journal.keep("c", 3)
    assert folder.journal("answers", "k1").known == {"a": 1, "c": 3}


def test_one_sound_is_kept(folder: LessonFolder) -> None:
    for key in ("k1", "k2"):
        folder.sound_path(key).write_bytes(b"")
        folder.levels_path(key).write_bytes(b"")
    folder.keep_only_sound("k2")
    assert not folder.sound_path("k1").exists()
    assert not folder.levels_path("k1").exists()
    assert folder.sound_path("k2").exists()


def test_decision_lines_are_added_in_order(folder: LessonFolder) -> None:
    assert folder.decisions_text() == ""
    with folder.deciding():
        folder.add_decision_line("one")
        folder.add_decision_line("two")
    assert folder.decisions_text() == "one\ntwo\n"


def test_torn_decision_line_is_kept_and_the_next_stands_alone(folder: LessonFolder) -> None:
    folder.add_decision_line("one")
    with (folder.path / "decisions.jsonl").open("a") as file:
        file.write('{"num')
    assert folder.decisions_text() == 'one\n{"num'
    folder.add_decision_line("two")
    assert folder.decisions_text() == 'one\n{"num\ntwo\n'


HOLD = """
import sys
from pathlib import Path
from lessoncut.store import LessonFolder
with LessonFolder(Path(sys.argv[2])).locked():
    print("held", flush=True)
    sys.stdin.read()
"""


def test_second_command_is_told_of_the_first(folder: LessonFolder) -> None:
    command = [sys.executable, "-c", HOLD, "analyze", str(folder.path)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as other:
        assert other.stdout is not None
        assert other.stdout.readline() == "held\n"
        with pytest.raises(LessonFolderError, match=rf"process {other.pid}, lessoncut analyze"), folder.locked():
            pass
        other.communicate("")
    with folder.locked():
        pass


def test_killed_command_leaves_no_lock_and_no_rubbish(folder: LessonFolder) -> None:
    command = [sys.executable, "-c", HOLD, "analyze", str(folder.path)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as other:
        assert other.stdout is not None
        other.stdout.readline()
        other.kill()
    left = folder.path / "work" / ".part-9999999-note.json"
    left.write_text("half")
    with folder.locked():
        assert not left.exists()


def test_keys_tell_inputs_apart() -> None:
    assert key_of(A_NOTE, "x") == key_of(Note("vowels", (Span(0, 250), Span(400, 900))), "x")
    assert key_of(A_NOTE, "x") != key_of(A_NOTE, "y")
    assert key_of("ab", "c") != key_of("a", "bc")


def test_source_key_covers_folders_and_modules() -> None:
    assert source_key("times") != source_key("codec")
    assert source_key("matching") != source_key("matching", "times")


def test_source_key_covers_what_was_fitted(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("lessoncut.store.__file__", str(tmp_path / "store.py"))
    (tmp_path / "hearing").mkdir()
    (tmp_path / "hearing" / "edges.py").write_text("pass")
    nets = tmp_path / "hearing" / "nets.npz"
    nets.write_bytes(b"one")
    before = source_key("hearing")
    nets.write_bytes(b"other")
    assert source_key("hearing") != before


def test_records_are_written_with_their_schema(folder: LessonFolder) -> None:
    folder.write(NOTE, "k1", A_NOTE)
    held = json.loads((folder.path / "work" / "note.json").read_text())
    assert held["schema"] == "lessoncut.note/1"
