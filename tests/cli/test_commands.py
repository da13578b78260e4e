"""Every command but the ones that listen, on a lesson folder made by hand."""

import json
import re
from pathlib import Path

import pytest
from typer.testing import CliRunner

from lessoncut import __version__
from lessoncut.cli.app import COMMANDS, app
from lessoncut.cli.options import pacing_from
from lessoncut.lesson.pacing import Pacing
from lessoncut.store import LessonFolder
from tests.cli.conftest import Run
from tests.workflow import lessons


def test_version(run: Run) -> None:
    done = run("--version")
    assert (done.returncode, done.stdout) == (0, f"lessoncut {__version__}\n")


@pytest.mark.parametrize("name", COMMANDS)
def test_help_ends_with_an_example(name: str) -> None:
    done = CliRunner().invoke(app, [name, "--help"])
    assert done.exit_code == 0
    assert COMMANDS[name][1] in " ".join(done.stdout.split())


def test_help_without_arguments_lists_all(run: Run) -> None:
    done = run()
    said = done.stdout + done.stderr
    for name in COMMANDS:
        assert re.search(rf"^\s+{name}\s", said, flags=re.MULTILINE)
    assert "..." not in done.stdout, "no sentence is cut short"


def test_sounds_tells_before_filming_what_a_script_drills(run: Run, tmp_path: Path) -> None:
    script = tmp_path / "script.md"
    script.write_text("# Vans\n\n## Welcome\nHello there.\n\n## Drill {.passage}\nVera never waves.\nThe sun is up.\n")
    told = " ".join(run("sounds", script, "v/w").stdout.split())
    assert "Vera (initial), never (medial), waves (medial)" in told
    assert "/w/: 1 in the passage (1 initial, 0 medial, 0 final); lines without it: L003" in told
    assert "vest/west" in told
    found = json.loads(run("sounds", script, "v/w", "--json").stdout)
    assert [place["text"] for place in found["places"] if place["sound"] == "W"] == ["waves"]
    assert run("sounds", script, "qq").returncode == 2


def test_unknown_command_is_a_usage_error(run: Run) -> None:
    assert run("frobnicate").returncode == 2


def test_show_draws_the_line_sheet(run: Run, lesson: LessonFolder) -> None:
    done = run("show", lesson.path)
    assert done.returncode == 0, done.stderr
    said = done.stdout
    assert re.search(r"Line +Script +Model reading +Repeat pass", said)
    assert re.search(r"L003 +Wind and waves never stop\. +0:08\.0 to 0:09\.6 +MISSING", said)
    assert re.search(r" +0:06\.5 broken off, cut out +borrowed: 0:08\.0 to 0:09\.6", said)
    assert "0:14.0 read too, not kept" in said
    assert re.search(r"L001 +Hello, and welcome to the lighthouse\. +0:00\.5 to 0:02\.5", said)
    assert "\x1b" not in said, "no escape codes where there is no terminal"


def test_show_lists_findings_with_their_choices(run: Run, lesson: LessonFolder) -> None:
    said = run("show", lesson.path).stdout
    for kind in ("false start", "repeated line", "dropped line", "stray sound", "ad lib"):
        assert kind in said
    assert re.search(r"F02.*> keep_last", said.replace("\n", " "))


def test_show_json_is_the_analysis_file_and_the_notes(run: Run, lesson: LessonFolder) -> None:
    shown = json.loads(run("show", lesson.path, "--json").stdout)
    assert shown.pop("notes") == []
    assert shown == json.loads(lesson.analysis_path.read_text())


def test_deciding_changes_what_is_kept(run: Run, lesson: LessonFolder) -> None:
    done = run("decide", lesson.path, "f02", "keep-earlier")
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("Decided: keep_earlier for repeated line")
    kept = {one["id"] for one in json.loads(lesson.analysis_path.read_text())["readings"] if one["kept"]}
    assert "R006" in kept
    assert "R007" not in kept
    assert run("undo", lesson.path).stdout.startswith("Taken back: keep_earlier")
    kept = {one["id"] for one in json.loads(lesson.analysis_path.read_text())["readings"] if one["kept"]}
    assert "R007" in kept
    assert run("redo", lesson.path).stdout.startswith("Brought back: keep_earlier")
    listed = json.loads(run("decisions", lesson.path, "--json").stdout)["decisions"]
    assert [(one["choice"], one["state"]) for one in listed] == [("keep_earlier", "holds")]


def test_decisions_are_listed(run: Run, lesson: LessonFolder) -> None:
    assert "Nothing was decided yet" in run("decisions", lesson.path).stdout
    run("decide", lesson.path, "F01", "leave_in")
    run("undo", lesson.path)
    said = run("decisions", lesson.path).stdout
    assert re.search(r"false start “Wind and waves never stop\.” in the .*leave_in +taken back", said)


def test_what_gaps_and_export_keep_is_taken_back_like_a_decision(run: Run, lesson: LessonFolder) -> None:
    def level() -> object:
        return json.loads(run("gaps", lesson.path, "--json").stdout)["level"]

    run("gaps", lesson.path, "--level", "A1")
    run("decide", lesson.path, "F01", "leave_in")
    run("export", lesson.path, "--only", "captions-srt", "--sounds", "v/w", "--ipa")
    assert run("undo", lesson.path).stdout.startswith("Taken back: the choice of what the handout shows.")
    assert run("undo", lesson.path).stdout.startswith("Taken back: the choice of the target sounds.")
    assert run("undo", lesson.path).stdout.startswith("Taken back: leave_in")
    assert level() == "A1"
    assert run("undo", lesson.path).stdout.startswith("Taken back: the choice of the gaps.")
    assert level() == "B1"
    assert run("redo", lesson.path).stdout.startswith("Brought back: the choice of the gaps.")
    assert level() == "A1"
    listed = json.loads(run("decisions", lesson.path, "--json").stdout)["decisions"]
    assert listed[0]["about"] == "the gaps"
    assert [one["state"] for one in listed] == ["holds", *["taken back, or decided anew"] * 3]
    assert listed[2]["value"] == {"sounds": "v/w"}


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("decide", "lesson", "F99", "keep_last"), "no finding 'F99'"),
        (("decide", "lesson", "F02", "shout"), "one of keep_last, keep_earlier, keep_both"),
        (("undo", "lesson"), "nothing to undo"),
        (("redo", "lesson"), "nothing to redo"),
        (("gaps", "lesson", "--level", "D1"), "one of A1, A2, B1, B2, C1, C2"),
        (("gaps", "lesson", "--least", "5", "--most", "2"), "longer than the most"),
        (("export", "lesson", "--only", "hologram"), "no output called 'hologram'"),
        (("export", "lesson", "--paper", "a9"), "no paper 'a9'"),
        (("export", "lesson", "--url", "javascript:alert(1)"), "no address of a page"),
        (("show", "nowhere"), "no such lesson folder"),
        (("show", "take.mp4"), "no such lesson folder"),
        (("analyze", "take.mp4", "--lesson", "new"), "a recording and a script are needed"),
        (("analyze", "script.md", "take.mp4", "--lesson", "new"), "the script comes last"),
        (("export", "lesson", "--only", "handout"), "one of handout-html, handout-markdown, handout-pdf"),
        (("analyze", "missing.mp4", "script.md", "--lesson", "new"), "cannot be read"),
        (("analyze", "take.mp4", "script.md", "--lesson", "."), "holds other things"),
    ],
)
def test_mistakes_are_told_with_what_to_try(
    run: Run, lesson: LessonFolder, arguments: tuple[str, ...], says: str
) -> None:
    done = run(*arguments)
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr.startswith("lessoncut: ")
    assert says in done.stderr
    assert "Traceback" not in done.stderr
    assert not Path(lesson.path.parent, "new").exists()
    assert lesson.decisions_text() == ""


def test_torn_decision_is_told_and_the_next_one_holds(run: Run, lesson: LessonFolder) -> None:
    run("decide", lesson.path, "F02", "keep_earlier")
    with (lesson.path / "decisions.jsonl").open("a") as file:
        file.write('{"does": "deci')
    assert "Line 2 of decisions.jsonl is only half there" in run("show", lesson.path).stderr
    assert run("decide", lesson.path, "F01", "leave_in").returncode == 0
    listed = json.loads(run("decisions", lesson.path, "--json").stdout)["decisions"]
    assert [one["choice"] for one in listed] == ["keep_earlier", "leave_in"]


def _on_one_line(text: str) -> str:
    """Where a long path made the terminal's line break is no matter."""
    return " ".join(text.split())


def test_moved_and_changed_takes_are_told(run: Run, lesson: LessonFolder) -> None:
    take = lesson.path.parent / "take.mp4"
    take.write_bytes(b"something longer than it was before")
    assert "take.mp4 has been changed since it was analysed" in _on_one_line(run("show", lesson.path).stderr)
    take.unlink()
    assert "take.mp4 is no longer there" in _on_one_line(run("show", lesson.path).stderr)


def test_script_text_cannot_command_the_terminal(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    hostile = ("\x1b[2J[red]Clear[/red]\u202e the screen", "Two by two.", "Three by three.")
    monkeypatch.setattr(lessons, "TEXTS", (lessons.TEXTS[0], ("[bold]\x9b31m", True, hostile), lessons.TEXTS[2]))
    made = lessons.made_lesson(tmp_path / "hostile", tmp_path / "take.mp4")
    said = run("show", made.path).stdout
    assert "[red]Clear[/red]" in said
    assert not set(said) & {"\x1b", "\x9b", "\u202e"}


def test_our_own_fault_ends_in_a_report(run: Run, lesson: LessonFolder) -> None:
    sabotage = lesson.path.parent / "sitecustomize.py"
    sabotage.write_text(
        "import lessoncut.workflow.opened as o\ndef broken(*_): raise RuntimeError('boo')\no.opened = broken\n"
    )
    path = f"{Path(__file__).parents[2]}:{lesson.path.parent}"
    done = run("show", lesson.path, PYTHONPATH=path)
    assert done.returncode == 1
    assert "RuntimeError: boo" in done.stderr
    assert "Traceback" not in done.stderr
    report = lesson.path / "work" / "failure.txt"
    assert str(report) in done.stderr
    assert "Traceback" in report.read_text()
    assert "Traceback" in run("--debug", "show", lesson.path, PYTHONPATH=path).stderr


def test_what_fills_a_gap_is_kept_and_the_edit_list_follows(run: Run, lesson: LessonFolder) -> None:
    """Held pictures are not in the list: less of the take is played."""
    played = {}
    for choice in ("--recorded", "--hold"):
        run("gaps", lesson.path, choice, "--level", "C2")
        run("export", lesson.path, "--only", "edit-list-otio")
        read = json.loads((lesson.path / "outputs" / "edit-list-otio.otio").read_text())
        clips = [one for one in read["tracks"]["children"][0]["children"] if one["OTIO_SCHEMA"] == "Clip.1"]
        played[choice] = sum(clip["source_range"]["duration"]["value"] for clip in clips)
    assert played["--hold"] < played["--recorded"]


def test_another_level_has_its_own_values_and_leaves_the_filling() -> None:
    before = Pacing("B1", least_ms=2000, fill="hold")
    assert pacing_from(before, "a2", None, None, None, None, None, None, None) == Pacing("A2", fill="hold")
    same_level = pacing_from(before, "b1", None, None, None, None, None, None, False)
    assert same_level == Pacing("B1", least_ms=2000, fill="recorded")


def test_gaps_are_those_of_the_model_and_the_level_is_kept(run: Run, lesson: LessonFolder) -> None:
    """By hand, level B1 (docs/design.md): 0.8 + max(1.3 x 2.0, 10 syllables / 3.0) = 4.13, so 4.2 s."""
    first = json.loads(run("gaps", lesson.path, "--json").stdout)
    assert (first["level"], [row["line"] for row in first["gaps"]]) == ("B1", ["L002", "L003", "L004"])
    assert first["gaps"][0]["syllables"] == 10
    assert first["gaps"][0]["wanted_gap_s"] == 4.2
    assert 4.2 <= first["gaps"][0]["gap_s"] <= 4.24
    slower = json.loads(run("gaps", lesson.path, "--level", "a2", "--json").stdout)
    assert slower["gaps_s"] > first["gaps_s"]
    assert json.loads(run("gaps", lesson.path, "--json").stdout) == slower
    at_most = json.loads(run("gaps", lesson.path, "--most", "2.5", "--json").stdout)
    assert {row["wanted_gap_s"] for row in at_most["gaps"]} == {2.5}
    shown = run("gaps", lesson.path)
    assert re.search(r"L002 +The lamp turns every.* 2\.00 +10 ", shown.stdout)
    assert (" cut " in shown.stdout) == ("cut: something is cut out" in shown.stderr) is True


def test_export_writes_what_was_asked_for(run: Run, lesson: LessonFolder) -> None:
    done = run("export", lesson.path, "--only", "captions-srt", "--only", "gap-sheet", "--json")
    assert done.returncode == 0, done.stderr
    paths = [Path(one["path"]) for one in json.loads(done.stdout)["outputs"]]
    assert [path.name for path in paths] == ["captions-srt.srt", "gap-sheet.csv"]
    assert "The lamp turns every seven seconds." in paths[0].read_text(encoding="utf-8")
    assert sorted(path.name for path in (lesson.path / "outputs").iterdir()) == sorted(path.name for path in paths)


def test_export_on_the_takes_clock(run: Run, lesson: LessonFolder) -> None:
    assert run("export", lesson.path, "--only", "captions-srt", "--on", "take").returncode == 0
    captions = (lesson.path / "outputs" / "captions-srt.take.srt").read_text(encoding="utf-8")
    assert "00:00:04,000 --> 00:00:06" in captions


def test_what_is_chosen_for_the_handout_is_kept(run: Run, lesson: LessonFolder) -> None:
    page = lesson.path / "outputs" / "handout-html.html"
    captions = lesson.path / "outputs" / "captions-teaching-webvtt.vtt"
    chosen = ("--paper", "Letter", "--ipa", "--url", "https://example.org/lamp", "--your-turn", "Now you")
    made = ("--only", "handout-html", "--only", "captions-teaching-webvtt")
    assert run("export", lesson.path, *made, *chosen).returncode == 0
    first = page.read_text(encoding="utf-8")
    assert "size: letter" in first
    assert 'href="https://example.org/lamp#t=' in first
    assert "<c.turn>Now you</c>" in captions.read_text(encoding="utf-8")
    assert run("export", lesson.path, *made).returncode == 0
    assert page.read_text(encoding="utf-8") == first
    assert run("export", lesson.path, *made, "--no-ipa", "--url", "none").returncode == 0
    after = page.read_text(encoding="utf-8")
    assert "size: letter" in after
    assert "example.org" not in after
    assert 'class="ipa"' in first
    assert 'class="ipa"' not in after


def test_export_of_what_cannot_be_is_told(run: Run, lesson: LessonFolder) -> None:
    done = run("export", lesson.path, "--only", "chapters-description")
    assert done.returncode == 2
    assert "needs 3 chapters" in done.stdout
    assert not list((lesson.path / "outputs").iterdir())
