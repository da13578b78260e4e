"""The server by itself: who is let in, what a decision does, and the sound in any stretch."""

from __future__ import annotations

import io
import json
import time
import wave
from collections.abc import Iterator
from dataclasses import asdict
from fractions import Fraction
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from lessoncut.decisions.log import parse
from lessoncut.lesson.pacing import Pacing
from lessoncut.outputs.choices import PLAIN, Choices
from lessoncut.render import cover
from lessoncut.review import server
from lessoncut.review.desk import Desk
from lessoncut.review.guard import Keys
from lessoncut.review.server import app
from lessoncut.store import LessonFolder
from lessoncut.take.peaks import from_bytes
from lessoncut.workflow.lesson import paced, pacing_of
from lessoncut.workflow.opened import opened
from lessoncut.workflow.studying import choices_of, targets_of
from tests.review.lessons import LENGTH_MS, reviewed

PORT = 8123
HERE = f"http://127.0.0.1:{PORT}"


@pytest.fixture
def folder(tmp_path: Path) -> LessonFolder:
    return reviewed(tmp_path / "lesson")


@pytest.fixture
def keys() -> Keys:
    return Keys()


@pytest.fixture
def stranger(folder: LessonFolder, keys: Keys) -> TestClient:
    """A browser that knows the address and nothing else."""
    return TestClient(app(Desk(folder), PORT, keys), base_url=HERE, follow_redirects=False)


@pytest.fixture
def page(stranger: TestClient, keys: Keys) -> Iterator[TestClient]:
    """The teacher's browser after the link from the terminal."""
    answer = stranger.get(f"/?token={keys.token}")
    assert answer.status_code == 303 and answer.headers["location"] == "/"
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie and "samesite=strict" in cookie
    stranger.headers["origin"] = HERE
    with stranger:
        yield stranger


# -- who is let in --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "host", ["evil.example", "localhost:8123", "127.0.0.1", "127.0.0.1:8124", "127.0.0.1:8123.evil"]
)
def test_foreign_host_is_refused(page: TestClient, host: str) -> None:
    """A name that was made to lead here (DNS rebinding) stands in the Host header: RFC 9110, section 7.2."""
    assert page.get("/state", headers={"host": host}).status_code == 421


@pytest.mark.parametrize(
    "path", ["/", "/state", "/take", "/peaks", "/lesson.wav", "/static/main.js", "/outputs/gap-sheet"]
)
def test_nothing_without_the_cookie(stranger: TestClient, path: str) -> None:
    assert stranger.get(path).status_code == 403
    assert stranger.get(f"{path}?token=guess").status_code == 403


def test_token_does_not_open_other_addresses(stranger: TestClient, keys: Keys) -> None:
    assert stranger.get(f"/state?token={keys.token}").status_code == 403
    assert stranger.get("/", headers={"cookie": f"lessoncut-{PORT}={keys.token}"}).status_code == 403


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": "http://127.0.0.1:9"},
        {"sec-fetch-site": "cross-site"},
    ],
)
@pytest.mark.parametrize(
    "path", ["/decisions", "/undo", "/redo", "/pacing", "/targets", "/choices", "/pick-up", "/export"]
)
def test_changes_from_elsewhere_are_refused(
    page: TestClient, folder: LessonFolder, path: str, headers: dict[str, str]
) -> None:
    body = {"about": {"kind": "finding", "id": "F01"}, "choice": "cut_out"}
    assert page.post(path, json=body, headers=headers).status_code == 403
    assert folder.decisions_text() == ""


def test_changes_without_an_origin_are_refused(page: TestClient) -> None:
    del page.headers["origin"]
    assert page.post("/undo", json={}).status_code == 403


@pytest.mark.parametrize(
    "path",
    [
        "/static/../server.py", "/static/%2e%2e/server.py", "/static/..%2fserver.py", "/static//etc/passwd",
        "/outputs/../analysis.json", "/outputs/..%2f..%2fanalysis.json", "/outputs/%2e%2e%2flesson.json",
        "/outputs/nothing", "/take/../decisions.jsonl", "/static/",
    ],
)  # fmt: skip
def test_no_way_to_other_files(page: TestClient, path: str) -> None:
    assert page.get(path).status_code in (400, 404)


def test_every_answer_carries_the_policy(page: TestClient) -> None:
    for path in ("/", "/state", "/static/main.js", "/nothing"):
        headers = page.get(path).headers
        assert headers["content-security-policy"].startswith("default-src 'self'")
        assert headers["x-content-type-options"] == "nosniff"


def test_too_much_or_no_json_is_refused(page: TestClient) -> None:
    assert page.post("/decisions", content=b"x" * 70_000).status_code == 413
    assert page.post("/decisions", content=b"{").status_code == 400
    assert page.post("/decisions", content=b"[1]").status_code == 400
    assert page.post("/decisions", content=b"[" * 60_000).status_code == 400
    picture = page.post("/cover?name=lake.png", content=bytes(cover.MOST_BYTES + 1))
    assert (picture.status_code, picture.json()["what"]) == (413, cover.too_large("lake.png").what)


# -- deciding -------------------------------------------------------------------------------------------------


def test_a_decision_is_on_the_disk_when_it_is_answered(page: TestClient, folder: LessonFolder) -> None:
    finding = next(one for one in page.get("/state").json()["findings"] if one["kind"] == "dropped_line")
    body = {"about": {"kind": "finding", "id": finding["id"]}, "choice": "leave_out"}
    state = page.post("/decisions", json=body).json()
    stored = parse(folder.decisions_text()).entries
    assert [entry.choice for entry in stored] == ["leave_out"]  # type: ignore[union-attr]
    mine = next(one for one in state["findings"] if one["id"] == finding["id"])
    assert mine["decided"] and mine["choices"][mine["chosen"]]["name"] == "leave_out"
    assert state["totals"]["open"] == state["totals"]["findings"] - 1
    analysed = json.loads(folder.analysis_path.read_text(encoding="utf-8"))
    assert next(one for one in analysed["findings"] if one["id"] == finding["id"])["choice"] == "leave_out"


@pytest.mark.parametrize(
    "body",
    [
        {},
        {"about": 3, "choice": "keep"},
        {"about": {"kind": "finding", "id": "F99"}, "choice": "keep_last"},
        {"about": {"kind": "finding", "id": "F01"}, "choice": "dance"},
        {"about": {"kind": "slot", "line": "L999", "pass": "P1"}, "choice": "leave_out"},
        {"about": {"kind": "slot", "line": "L002", "pass": "P9"}, "choice": "leave_out"},
        {"about": {"kind": "slot", "line": "L002", "pass": "P1"}, "choice": "keep", "reading": "R999"},
        {"about": {"kind": "gap", "line": "L002"}, "choice": "set", "value": -1},
        {"about": {"kind": "gap", "line": "L002"}, "choice": "set", "value": [1]},
        {"about": {"kind": "gap", "line": "L002"}, "choice": "set", "value": True},
        {"about": {"kind": "edge", "reading": "R001", "edge": "middle"}, "choice": "move", "value": 1},
        {"about": {"kind": "chapter", "section": 99, "pass": None}, "choice": "hide"},
        {"about": {"kind": "aside", "start_ms": 5}, "choice": "keep"},
        {"about": {"kind": "pick_up", "path": "/etc/passwd"}, "choice": "add"},
    ],
)
def test_what_cannot_be_decided_is_told_and_not_stored(page: TestClient, folder: LessonFolder, body: object) -> None:
    answer = page.post("/decisions", json=body)
    assert answer.status_code == 400 and answer.json()["what"]
    assert folder.decisions_text() == ""


def test_undo_and_redo_go_through_decisions_and_pacing_in_their_order(page: TestClient, folder: LessonFolder) -> None:
    page.post("/decisions", json={"about": {"kind": "gap", "line": "L002"}, "choice": "set", "value": 4000})
    page.post("/pacing", json={"level": "A1", "keep": True})
    page.post("/decisions", json={"about": {"kind": "gap", "line": "L004"}, "choice": "set", "value": 5000})

    def stands() -> tuple[str, list[int]]:
        gaps = opened(folder).effects.gaps
        return pacing_of(folder).level, [gap.gap_ms for gap in gaps]

    seen = [stands()]
    for path in ("/undo", "/undo", "/undo", "/redo", "/redo", "/redo"):
        assert page.post(path, json={}).status_code == 200
        seen.append(stands())
    back = [("A1", [4000, 5000]), ("A1", [4000]), ("B1", [4000]), ("B1", [])]
    assert seen == back + back[-2::-1]
    assert page.post("/redo", json={}).status_code == 400


def test_every_setting_of_the_gaps_is_kept(page: TestClient, folder: LessonFolder) -> None:
    asked = {"level": "A2", "factor": 2.5, "reaction_ms": 700, "least_ms": 1100, "most_ms": 7000}
    kept = page.post("/pacing", json={**asked, "split": False, "build_up": True, "hold": True, "keep": True}).json()
    assert {name: kept["pacing"][name] for name in asked} == asked
    assert pacing_of(folder) == Pacing("A2", Fraction(5, 2), 700, 1100, 7000, False, True, fill="hold")


def test_trying_a_pacing_keeps_nothing_and_tells_the_totals(page: TestClient, folder: LessonFolder) -> None:
    before = page.get("/state").json()
    tried = page.post("/pacing", json={"level": "A1", "least_ms": 6000}).json()
    assert pacing_of(folder).level == "B1"
    assert page.get("/state").json()["totals"] == before["totals"]
    assert tried["totals"]["lesson_ms"] > before["totals"]["lesson_ms"]
    assert all(gap["wanted_ms"] >= 6000 for gap in tried["gaps"])
    kept = page.post("/pacing", json={"level": "A1", "least_ms": 6000, "keep": True}).json()
    assert kept["totals"] == tried["totals"]
    assert kept["totals"]["lesson_ms"] == paced(opened(folder), pacing_of(folder)).timeline.duration_ms


def test_an_edge_stays_in_the_take_and_lies_where_it_is_quiet(page: TestClient, folder: LessonFolder) -> None:
    about = {"kind": "edge", "reading": "R001", "edge": "start"}
    page.post("/decisions", json={"about": about, "choice": "move", "value": -500})
    assert opened(folder).effects.edges[0].cut.start_ms == 0
    page.post("/decisions", json={"about": about, "choice": "move", "value": 470, "snap": True})
    moved = opened(folder).effects.edges[0].cut.start_ms
    levels = Desk(folder).levels().voice_db
    near = levels[41:54]  # 470 ms, 60 ms to each side, in hops of 10 ms
    assert levels[moved // 10] == near.min() and abs(moved - 470) <= 65


def test_another_program_deciding_is_seen(page: TestClient, folder: LessonFolder) -> None:
    before = page.get("/pulse").json()["revision"]
    folder.add_decision_line(
        '{"does": "decide", "number": 1, "at_utc": "2030-01-01T00:00:00Z", '
        '"subject": {"kind": "gap", "line": {"text": "The lamp turns every seven seconds.", "nth": 1}}, '
        '"choice": "set", "value": 7000}'
    )
    assert page.get("/pulse").json()["revision"] != before
    cells = next(row for row in page.get("/state").json()["rows"] if row.get("id") == "L002")["cells"]
    assert cells[1]["plays"][-1]["gap"]["wanted_ms"] == 7000


def test_the_sheet_agrees_with_the_analysis(page: TestClient, folder: LessonFolder) -> None:
    state = page.get("/state").json()
    analysed = json.loads(folder.analysis_path.read_text(encoding="utf-8"))
    rows = [row for row in state["rows"] if row["kind"] == "line"]
    assert [row["id"] for row in rows] == [line["id"] for line in analysed["lines"]]
    shown = {reading["id"]: reading for row in rows for cell in row["cells"] for reading in cell["readings"]}
    assert {one["id"]: one["kept"] for one in analysed["readings"]} == {one: shown[one]["plays"] for one in shown}
    missing = [(row["id"], cell["pass"]) for row in rows for cell in row["cells"] if cell["missing"]]
    assert missing == [(f["line"], f["pass"]) for f in analysed["findings"] if f["kind"] == "dropped_line"]
    (aside,) = [row for row in state["rows"] if row["kind"] == "aside"]
    assert state["rows"][state["rows"].index(aside) - 1]["id"] == "L004", "said after the last reading of L004"


def test_target_sounds_are_kept_checked_and_undone(page: TestClient, folder: LessonFolder) -> None:
    assert page.get("/state").json()["targets"] == ""
    assert page.post("/targets", json={"sounds": " v/w  \u03b8 "}).json()["targets"] == "v/w \u03b8"
    assert targets_of(folder).sounds == "v/w \u03b8"
    assert page.post("/targets", json={"sounds": "v/qq"}).status_code == 400
    assert page.post("/targets", json={"sounds": 3}).status_code == 400
    undone = page.post("/undo", json={}).json()
    assert undone["targets"] == "" and targets_of(folder).sounds == ""
    assert page.post("/redo", json={}).json()["targets"] == "v/w \u03b8"


def test_what_the_handout_shows_is_kept_checked_and_undone(page: TestClient, folder: LessonFolder) -> None:
    asked = {"paper": "letter", "ipa": True, "melody": True, "bars": False, "ties": False, "room": False, "slow": True}
    words = {"url": " https://example.org/lesson ", "your_turn": "Now you"}
    kept = page.post("/choices", json={**asked, **words}).json()
    assert kept["choices"] == {**asked, "url": "https://example.org/lesson", "your_turn": "Now you"}
    assert choices_of(folder) == Choices(**kept["choices"])
    for wrong in ({"paper": "a5"}, {"paper": ["a4"]}, {"ipa": 1}, {"url": "javascript:alert(1)"}, {"url": 3}):
        assert page.post("/choices", json=wrong).status_code == 400
    assert page.post("/choices", json={"url": ""}).json()["choices"]["url"] is None
    page.post("/undo", json={})
    assert choices_of(folder).url == "https://example.org/lesson"
    assert page.post("/undo", json={}).json()["choices"] == asdict(PLAIN)


@pytest.mark.parametrize(
    "wishes", [{"loudness": "loud"}, {"loudness": 3}, {"loudness": True}, {"high_pass": 1}, {"prompt": "yes"}]
)
def test_wishes_that_mean_nothing_are_refused(page: TestClient, wishes: dict[str, object]) -> None:
    assert page.post("/export", json={"outputs": ["gap-sheet"], **wishes}).status_code == 400
    assert page.get("/pulse").json()["export"] is None


# -- pick-ups (what becomes of a good one: test_browser_pick_up.py) ------------------------------------------------


def test_a_pick_up_that_is_too_large_or_no_recording_leaves_nothing(
    page: TestClient, folder: LessonFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    def left() -> list[Path]:
        return list((folder.path / "pick-ups").iterdir())

    monkeypatch.setattr(server, "MOST_PICK_UP_BYTES", 1000)
    assert page.post("/pick-up?name=big.wav", content=b"x" * 1001).status_code == 400
    assert left() == [] and folder.decisions_text() == ""
    answer = page.post("/pick-up?name=../../letter.txt", content=b"x" * 1000)
    assert answer.status_code == 202 and answer.json()["adding"][0]["name"] == "letter.txt"
    until = time.monotonic() + 60
    while page.get("/pulse").json()["adding"][0]["state"] != "failed":
        assert time.monotonic() < until
        time.sleep(0.05)
    assert left() == []
    assert page.get("/state").json()["pick_ups"] == []


def test_no_pick_up_is_taken_out_by_another_number(page: TestClient) -> None:
    for number in (0, 1, -1, True, "1"):
        about = {"kind": "pick_up", "number": number}
        assert page.post("/decisions", json={"about": about, "choice": "remove"}).status_code == 400


# -- sound ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", ["/take.wav", "/lesson.wav"])
def test_any_stretch_of_the_sound_is_that_stretch_of_the_whole(page: TestClient, path: str) -> None:
    whole = page.get(path).content
    with wave.open(io.BytesIO(whole)) as read:  # the standard library's reader
        assert (read.getnchannels(), read.getsampwidth()) == (1, 2)
        length_ms = read.getnframes() * 1000 / read.getframerate()
    expected_ms = LENGTH_MS if path == "/take.wav" else page.get("/state").json()["lesson"]["duration_ms"]
    assert length_ms == pytest.approx(expected_ms, abs=1)
    for start, end in ((0, 9), (0, 100), (43, 47), (1001, 90_000), (len(whole) // 2, len(whole))):
        part = page.get(path, headers={"range": f"bytes={start}-{end - 1}"})
        assert part.status_code == 206
        assert part.headers["content-range"] == f"bytes {start}-{end - 1}/{len(whole)}"
        assert part.content == whole[start:end]
    assert page.get(path, headers={"range": "bytes=-10"}).content == whole[-10:]
    assert page.get(path, headers={"range": f"bytes={len(whole)}-"}).status_code == 416


def test_the_take_itself_comes_in_ranges(page: TestClient, folder: LessonFolder) -> None:
    recording = (folder.path.parent / "take.wav").read_bytes()
    part = page.get("/take", headers={"range": "bytes=100-199"})
    assert part.status_code == 206 and part.content == recording[100:200]


def test_peaks_are_those_of_the_take(page: TestClient) -> None:
    assert len(from_bytes(page.get("/peaks").content).levels[0]) == LENGTH_MS // 10
