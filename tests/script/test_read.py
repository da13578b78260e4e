"""Script files: encodings, faults, limits."""

from dataclasses import replace
from pathlib import Path

import pytest

from lessoncut.errors import ScriptError
from lessoncut.script.read import MOST_BYTES, read_script
from lessoncut.script.records import Line
from tests.script.samples import texts


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
def test_encodings_and_line_ends(tmp_path: Path, encoding: str, line_end: str) -> None:
    path = tmp_path / "lesson.md"
    path.write_bytes("# Zoë\n\nOne “vine”.\nTwo.\n".replace("\n", line_end).encode(encoding))
    script = read_script(path)
    assert script.title == "Zoë"
    assert [(line.text, line.source_line) for line in script.lines] == [("One “vine”.", 3), ("Two.", 4)]


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"# T\r\n\r\nOne.\r\nThe caf\xe9.\r\n", "line 4: 0xE9 at byte 21"),
        ("# T\n\nOne.\n".encode("utf-16-le"), "line 1: the script holds a NUL"),
        (b"# T\n\nOne \0 two.", "line 3: the script holds a NUL"),
        (b"\xff\xfe#\x00\n\x00T", "line 2: 0x54 at byte 7 of the file is not UTF-16"),
        (b"# T\n\n<!-- note\n\nOne.", "line 3: a comment begins"),
        (b"", "no lines to speak"),
        (b"# T\n\n## S\n\n---\n\n***\n", "no lines to speak"),
        ("# T\n\n🎈\n".encode(), "no lines to speak"),
        (b"## A {.passage}\n\nOne.\n\n## B {.passage}\n\nTwo.\n", "line 5: two headings mark a passage: lines 1 and 5"),
    ],
)
def test_faults_name_the_line(tmp_path: Path, content: bytes, message: str) -> None:
    path = tmp_path / "lesson.md"
    path.write_bytes(content)
    with pytest.raises(ScriptError) as caught:
        read_script(path)
    assert str(path) in str(caught.value)
    assert message in str(caught.value)
    assert "Try:" in str(caught.value)


def test_files_that_are_none(tmp_path: Path) -> None:
    for path, message in ((tmp_path / "none.md", "No such file"), (tmp_path, "not a file")):
        with pytest.raises(ScriptError, match=message):
            read_script(path)
    odd = tmp_path / "new\nline.md"
    with pytest.raises(ScriptError, match=r"new\\nline"):
        read_script(odd)


def test_a_line_of_nothing_but_a_direction_in_brackets_is_none(tmp_path: Path) -> None:
    path = tmp_path / "lesson.md"
    said = ["(I left it on the step.)", "(Who knew?)", "Look up (slowly) and smile."]
    path.write_text("\n\n".join(["# T", "(hold up the card)", said[0], "[smile to the camera]", *said[1:], "(pause)."]))
    assert [line.text for line in read_script(path).lines] == said


def test_a_bracket_that_never_closes_is_read_at_once(tmp_path: Path) -> None:
    path = tmp_path / "lesson.md"
    said = ["(" + "a" * 5000, "(" + "a " * 2000 + "b", "[" + "a" * 5000 + "."]
    path.write_text("# T\n\n" + "\n\n".join(said))
    assert "".join(line.text for line in read_script(path).lines).count("(") == 2


def test_limits(tmp_path: Path) -> None:
    path = tmp_path / "lesson.md"
    path.write_text("# T\n\n" + "The wind went west. " * 50_000)
    assert len(read_script(path).lines) == 50_000
    path.write_text("# T\n\n" + "".join(f"Line number {n}.\n\n" for n in range(2000)))
    assert read_script(path).lines[-1].id == "L2000"
    path.write_bytes(b"a" * (MOST_BYTES + 1))
    with pytest.raises(ScriptError, match="larger than 5 MB"):
        read_script(path)


def test_right_to_left_and_emoji(tmp_path: Path) -> None:
    path = tmp_path / "lesson.txt"
    path.write_text("שלום עולם. מה שלומך?\nWell done 🎈🎈!", encoding="utf-8")
    assert texts(read_script(path)) == ["שלום עולם.", "מה שלומך?", "Well done 🎈🎈!"]


def test_a_script_without_a_title_has_the_files_name(tmp_path: Path) -> None:
    path = tmp_path / "week one.txt"
    path.write_text("Hello there.\nBye.")
    script = read_script(path)
    assert (script.title, script.sections[0].title) == ("week one", "week one")
    assert replace(script.lines[0], source_line=None) == Line("L001", "Hello there.", 0, False)
