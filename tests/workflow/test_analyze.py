"""What an analysis writes, what it uses again, and what it does when something is wrong."""

import json
import os
import wave
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from lessoncut import store
from lessoncut.decisions.records import Subject
from lessoncut.errors import LessonFolderError, ScriptError, TakeError
from lessoncut.hearing.records import Alignment, AlignmentRequest
from lessoncut.store import LessonFolder
from lessoncut.times import Span
from lessoncut.workflow import listening
from lessoncut.workflow.analyze import Request, analyze, remembering
from lessoncut.workflow.deciding import decide, decide_finding
from lessoncut.workflow.listening import Growing
from lessoncut.workflow.records import HearingSettings
from tests.matching.sounding import sounding
from tests.workflow.acting import SAID, SCRIPT, Ears, perform

WITH_RETAKE = SAID.replace(" 13.0  the lamp", " 11.2  vera climbs the winding stairs   12.6\n 13.0  the lamp")


@pytest.fixture
def request_(tmp_path: Path) -> Request:
    (tmp_path / "script.md").write_text(SCRIPT)
    return Request((perform(SAID, tmp_path / "take.wav"),), tmp_path / "script.md")


@pytest.fixture
def ears(monkeypatch: pytest.MonkeyPatch) -> Ears:
    return Ears(SAID, monkeypatch)


def written(at: Path) -> dict[str, Any]:
    loaded: dict[str, Any] = json.loads((at / "analysis.json").read_text(encoding="utf-8"))
    return loaded


def test_the_analysis_file_keeps_its_contract(tmp_path: Path, request_: Request, ears: Ears) -> None:
    analyze(request_, tmp_path / "lesson")
    found = written(tmp_path / "lesson")
    assert found["schema"] == "lessoncut.analysis/1"
    assert found["take"]["duration_s"] == 32.5
    assert [line["id"] for line in found["lines"]] == ["L001", "L002", "L003", "L004", "L005"]
    assert [line["in_passage"] for line in found["lines"]] == [False, True, True, True, False]
    assert [one["kind"] for one in found["passes"]] == ["model", "repeat"]
    assert [(one["line"], one["pass"]) for one in found["readings"]] == [
        ("L001", None),
        *((line, "P1") for line in ("L002", "L003", "L004")),
        *((line, "P2") for line in ("L002", "L003", "L004")),
        ("L005", None),
    ]
    assert all(one["kept"] and one["kind"] == "full" for one in found["readings"])
    assert found["findings"] == []
    first = found["readings"][1]
    assert (first["start_s"], first["end_s"]) == pytest.approx((4.0, 6.0), abs=0.1)
    assert [word["text"] for word in first["words"]] == ["the", "lamp", "turns", "every", "seven", "seconds"]
    assert ears.heard == 1


def test_nothing_is_done_twice(tmp_path: Path, request_: Request, ears: Ears, monkeypatch: pytest.MonkeyPatch) -> None:
    at = tmp_path / "lesson"
    first = analyze(request_, at)
    asked = ears.asked
    times = {path: path.stat().st_mtime_ns for path in at.rglob("*") if path.is_file() and path.name != "lock"}
    monkeypatch.setattr("lessoncut.take.probe.probe", None)
    monkeypatch.setattr("lessoncut.matching.match.match", None)
    second = analyze(request_, at)
    assert second.found == first.found
    assert (ears.heard, ears.asked) == (1, asked)
    assert times == {path: path.stat().st_mtime_ns for path in times}


def test_another_script_is_followed_without_hearing_again(tmp_path: Path, request_: Request, ears: Ears) -> None:
    at = tmp_path / "lesson"
    analyze(request_, at)
    request_.script.write_text(SCRIPT.replace("See you all next week.", "See you all next week.\nBye for now."))
    found = analyze(request_, at).found
    assert [one.kind for one in found.findings] == ["dropped_line"]
    assert ears.heard == 1


def test_what_the_aligner_answered_is_not_asked_again(tmp_path: Path, request_: Request, ears: Ears) -> None:
    at = tmp_path / "lesson"
    analyze(request_, at)
    asked = ears.asked
    request_.script.write_text(SCRIPT.replace("# The lighthouse", "# The old lighthouse"))
    assert analyze(request_, at).found.script.title == "The old lighthouse"
    assert ears.asked == asked


def test_new_code_of_a_stage_does_the_stage_again(
    tmp_path: Path, request_: Request, ears: Ears, monkeypatch: pytest.MonkeyPatch
) -> None:
    at = tmp_path / "lesson"
    analyze(request_, at)
    monkeypatch.setattr("lessoncut.workflow.analyze.source_key", lambda *names: f"new {names}")
    analyze(request_, at)
    assert ears.heard == 1
    monkeypatch.setattr(listening, "source_key", lambda *names: f"new {names}")
    monkeypatch.setattr("lessoncut.workflow.analyze.source_key", lambda *names: f"newer {names}")
    analyze(request_, at)
    assert ears.heard == 2


def test_other_settings_hear_again(tmp_path: Path, request_: Request, ears: Ears) -> None:
    analyze(request_, tmp_path / "lesson")
    analyze(replace(request_, settings=HearingSettings(model="base")), tmp_path / "lesson")
    assert ears.heard == 2


def test_a_moved_take_is_known_by_its_content(tmp_path: Path, request_: Request, ears: Ears) -> None:
    at = tmp_path / "lesson"
    analyze(request_, at)
    moved = request_.takes[0].rename(tmp_path / "elsewhere.wav")
    lesson = analyze(replace(request_, takes=(moved,)), at)
    assert ears.heard == 1
    assert written(at)["take"]["files"][0]["path"] == str(moved)
    assert lesson.notes == ()


def test_a_touched_take_is_known_by_its_content(tmp_path: Path, request_: Request, ears: Ears) -> None:
    at = tmp_path / "lesson"
    analyze(request_, at)
    os.utime(request_.takes[0], (1, 1))
    assert analyze(request_, at).notes == ()
    assert ears.heard == 1


def test_a_changed_take_is_heard_again(tmp_path: Path, request_: Request, ears: Ears) -> None:
    at = tmp_path / "lesson"
    analyze(request_, at)
    perform(WITH_RETAKE, request_.takes[0])
    ears.said = WITH_RETAKE
    found = analyze(request_, at).found
    assert ears.heard == 2
    assert [one.kind for one in found.findings] == ["repeated_line"]
    assert len(list((at / "work").glob("sound-*"))) == 1


def test_decisions_outlive_a_new_analysis(tmp_path: Path, request_: Request, ears: Ears) -> None:
    at = tmp_path / "lesson"
    perform(WITH_RETAKE, request_.takes[0])
    ears.said = WITH_RETAKE
    before = analyze(request_, at)
    finding = before.found.findings[0]
    decide_finding(before.folder, finding.id, "keep_earlier")
    kept = {one["start_s"] for one in written(at)["readings"] if one["kept"]}
    request_.script.write_text(SCRIPT.replace("# The lighthouse", "# At the lighthouse"))
    after = analyze(request_, at)
    assert after.resolved.stale == ()
    assert [item.choice for item in after.resolved.settled if item.decision] == ["keep_earlier"]
    assert kept == {one["start_s"] for one in written(at)["readings"] if one["kept"]}


def test_a_stop_keeps_what_was_heard(tmp_path: Path, request_: Request, ears: Ears) -> None:
    at = tmp_path / "lesson"
    ears.stop_after = 2
    with pytest.raises(KeyboardInterrupt):
        analyze(request_, at)
    assert not (at / "analysis.json").exists()
    ears.stop_after = None
    analyze(request_, at)
    assert ears.known_packs == ["0-1", "1-2"]
    assert (at / "analysis.json").exists()


def test_an_unusable_take_leaves_nothing_behind(tmp_path: Path, request_: Request, ears: Ears) -> None:
    request_.takes[0].write_bytes(b"RIFF, but no more")
    with pytest.raises(TakeError):
        analyze(request_, tmp_path / "lesson")
    assert not (tmp_path / "lesson").exists()
    assert ears.heard == 0


def test_a_silent_take_leaves_nothing_behind(tmp_path: Path, request_: Request, ears: Ears) -> None:
    with wave.open(str(request_.takes[0]), "wb") as file:
        file.setparams((1, 2, 16_000, 0, "NONE", ""))
        file.writeframes(bytes(2 * 16_000 * 5))
    with pytest.raises(TakeError, match="silence"):
        analyze(request_, tmp_path / "lesson")
    assert not (tmp_path / "lesson").exists()
    assert ears.heard == 0


def test_an_unusable_take_costs_an_old_lesson_nothing(tmp_path: Path, request_: Request, ears: Ears) -> None:
    at = tmp_path / "lesson"
    analyze(request_, at)
    before = written(at)
    request_.takes[0].write_bytes(b"gone")
    with pytest.raises(TakeError):
        analyze(request_, at)
    assert written(at) == before
    assert ears.heard == 1


def test_another_scripts_take_is_told(tmp_path: Path, request_: Request, ears: Ears) -> None:
    request_.script.write_text("# Trains\n\n## Platform\nMind the doors.\nTickets please.\nAll change here.\n")
    with pytest.raises(ScriptError, match="does not follow this script: 0% of its lines"):
        analyze(request_, tmp_path / "lesson")
    assert not (tmp_path / "lesson" / "analysis.json").exists()
    request_.script.write_text(SCRIPT)
    analyze(request_, tmp_path / "lesson")
    assert ears.heard == 1, "what was heard is kept"


def test_a_passage_that_nobody_marked_is_found_and_told(tmp_path: Path, request_: Request, ears: Ears) -> None:
    request_.script.write_text(SCRIPT.replace(" {.passage}", ""))
    lesson = analyze(request_, tmp_path / "lesson")
    assert [line.id for line in lesson.found.script.passage] == ["L002", "L003", "L004"]
    assert [one.kind for one in lesson.found.match.passes] == ["model", "repeat"]
    assert "lines L002 to L004 are taken for it" in lesson.notes[0]
    assert ears.heard == 1


def test_a_language_without_aligner_is_told(tmp_path: Path, request_: Request, monkeypatch: pytest.MonkeyPatch) -> None:
    ears = Ears(SAID, monkeypatch, language="cy")
    lesson = analyze(request_, tmp_path / "lesson")
    assert lesson.notes[0].startswith("No aligner for the language heard (cy)")
    assert ears.asked == 0


def test_a_pick_up_joins_the_take(tmp_path: Path, request_: Request, ears: Ears) -> None:
    at = tmp_path / "lesson"
    lesson = analyze(request_, at)
    extra = perform("0.5  wind and waves never stop  2.1", lesson.folder.pick_up_path("extra.wav"))
    decide(lesson.folder, Subject("pick_up", path=str(extra.relative_to(at))), "add")
    ears.said = SAID + " 33.0  wind and waves never stop  34.6\n"
    lesson = analyze(request_, at)
    assert [Path(one["path"]).name for one in written(at)["take"]["files"]] == ["take.wav", "extra.wav"]
    assert lesson.found.pick_ups == (Span(32_500, 35_600),)
    assert ears.heard == 2


def test_a_foreign_folder_is_refused_before_anything_is_done(tmp_path: Path, request_: Request, ears: Ears) -> None:
    with pytest.raises(LessonFolderError, match="holds other things"):
        analyze(request_, tmp_path)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["script.md", "take.wav"]
    assert ears.heard == 0


def test_broken_work_files_are_made_again(tmp_path: Path, request_: Request, ears: Ears) -> None:
    at = tmp_path / "lesson"
    before = analyze(request_, at).found
    for path in (at / "work").iterdir():
        path.write_bytes(b"\0 broken")
    assert analyze(request_, at).found == before
    assert ears.heard == 2


def test_source_keys_are_stable_within_a_version() -> None:
    assert store.source_key("matching") == store.source_key("matching")


def test_remembering_asks_each_thing_once(tmp_path: Path) -> None:
    folder = LessonFolder.found_or_made(tmp_path / "lesson")
    asked: list[AlignmentRequest] = []
    answer = sounding(SAID)

    def ask(requests: list[AlignmentRequest]) -> Any:
        asked.extend(requests)
        return answer(requests)

    one, other = (AlignmentRequest("L001", ("wind",), Span(at_ms, at_ms + 3000)) for at_ms in (6000, 40_000))
    first = remembering(ask, Growing(folder.journal("alignments", "k"), 60_000, "take"), Alignment)([one, other, one])  # type: ignore[arg-type]
    again = remembering(ask, Growing(folder.journal("alignments", "k"), 60_000, "take"), Alignment)([other, one])  # type: ignore[arg-type]
    assert asked == [one, other]
    assert [item.request for item in first] == [one, other, one]
    assert again == (first[1], first[0])
    assert first[0].words
    assert not first[1].words


@pytest.mark.parametrize(
    "name", [b"take \xff.wav", b"-take.wav", b"two\nlines.wav", "übung „1“.wav".encode(), b"x" * 250 + b".wav"]
)
def test_names_of_any_bytes(tmp_path: Path, request_: Request, ears: Ears, name: bytes) -> None:
    odd = request_.takes[0].rename(tmp_path / os.fsdecode(name))
    at = tmp_path / os.fsdecode(b"lesson \xfe")
    first = analyze(replace(request_, takes=(odd,)), at)
    assert analyze(replace(request_, takes=(odd,)), at).found == first.found
    assert written(at)["take"]["files"][0]["path"] == str(odd)
    assert ears.heard == 1
