"""The command: which seeds, how analyses are made and judged, and that a failure is never a success."""

from __future__ import annotations

import json
import shlex
import shutil
import sys
from pathlib import Path

import pytest

from tests.evaluation import run
from tests.evaluation.run import lessons, metrics_of, outcome, seeds_of

_TRIPLES = Path(__file__).parent / "triples"


def _lesson(folder: Path, name: str) -> Path:
    own = folder / name
    own.mkdir(parents=True)
    truth = json.loads((_TRIPLES / "truth.json").read_text(encoding="utf-8"))
    (own / "truth.json").write_text(json.dumps(truth | {"voice": "nobody"}), encoding="utf-8")
    (own / "script.md").write_text("# A\n", encoding="utf-8")
    (own / "take.wav").write_bytes(b"")
    return own


def _command(program: str) -> str:
    return f"{shlex.quote(sys.executable)} -c {shlex.quote(program)} {{take}} {{script}} {{lesson}}"


def _copying(estimate: str) -> str:
    return _command(
        "import sys, pathlib, shutil; folder = pathlib.Path(sys.argv[3]); folder.mkdir(exist_ok=True);"
        f" shutil.copy({str(_TRIPLES / estimate)!r}, folder / 'analysis.json')"
    )


def test_seeds() -> None:
    assert seeds_of("1-4") == [1, 2, 3, 4]
    assert seeds_of("3,7,20-22") == [3, 7, 20, 21, 22]
    fresh = seeds_of("fresh:12")
    assert len(set(fresh)) == 12
    assert fresh != seeds_of("fresh:12")
    assert min(fresh) > 100_000, "development uses small seeds"


def test_a_command_is_given_the_lesson_and_its_analysis_is_scored(tmp_path: Path) -> None:
    result = outcome([_lesson(tmp_path, "one"), _lesson(tmp_path, "two")], _copying("typical.estimate.json"), "ours")
    assert result.failures == {}
    assert result.take_s == 80
    metrics = metrics_of(result)
    assert (metrics["kept_found"], metrics["kept_missed"], metrics["kept_invented"]) == (12, 2, 4)
    assert metrics["cpu_s_per_minute"] > 0
    assert (tmp_path / "one" / "ours" / "analysis.json").is_file()


@pytest.mark.parametrize(
    ("program", "why"),
    [
        ("import sys; sys.exit('no ears')", "no ears"),
        ("pass", "wrote no analysis.json"),
        (
            "import sys, pathlib; folder = pathlib.Path(sys.argv[3]); folder.mkdir(exist_ok=True);"
            " (folder / 'analysis.json').write_text('{}')",
            "missing @ $.schema",
        ),
    ],
)
def test_a_failure_is_named_and_scored_as_everything_missed(tmp_path: Path, program: str, why: str) -> None:
    result = outcome([_lesson(tmp_path, "one")], _command(program), "ours")
    assert why in result.failures["one"]
    assert result.scores["one"].kept.missed == 7


def test_an_old_analysis_does_not_hide_a_failure(tmp_path: Path) -> None:
    lesson = _lesson(tmp_path, "one")
    (lesson / "ours").mkdir()
    shutil.copy(_TRIPLES / "typical.estimate.json", lesson / "ours" / "analysis.json")
    assert outcome([lesson], _command("pass"), "ours").failures


def test_lessons_that_are_there_are_not_made_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    there = _lesson(tmp_path, "dev-0003")
    made: list[int] = []

    def make(folder: Path, family: str, seed: int) -> Path:
        made.append(seed)
        return folder / f"{family}-{seed:04d}"

    monkeypatch.setattr(run, "write_lesson", make)
    assert lessons(tmp_path, "dev", [3, 4]) == [there, tmp_path / "dev-0004"]
    assert made == [4]


@pytest.mark.parametrize(("estimate", "code"), [("truth.json", 0), ("typical.estimate.json", 1)])
def test_exit_code_tells_whether_every_bar_is_reached(
    estimate: str, code: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    _lesson(tmp_path, "dev-0001")
    report = tmp_path / "report.json"
    monkeypatch.setattr(run, "missing_engines", lambda: ())
    monkeypatch.setattr(
        sys,
        "argv",
        ["run", "--seeds", "1", "--out", str(tmp_path), "--analyze-command", _copying(estimate), "--json", str(report)],
    )
    assert run.main() == code
    told = json.loads(report.read_text(encoding="utf-8"))["lessoncut"]
    shown = capsys.readouterr().out
    assert ("reaches every bar" in shown) == (code == 0)
    if code:
        assert "dropped_line_f1 is 0" in shown
        assert "19.50    28.00  missed   dropped_line   L003  repeat 1" in shown
        faults = told["lessons"]["dev-0001"]["confusions"]
        assert ("missed", "dropped_line") in {(fault["fault"], fault["kind"]) for fault in faults}
