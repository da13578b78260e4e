"""A line recorded later in a file of its own, with the real recogniser: read speech from the reader sample."""

from __future__ import annotations

import json
import wave
from pathlib import Path

import pytest

from lessoncut.lesson.pacing import Pacing
from lessoncut.outputs.gap_sheet import gap_rows
from lessoncut.take.decode import decode
from lessoncut.take.probe import probe
from lessoncut.take.samples import RATE_HZ, cut
from lessoncut.times import Span, milliseconds
from lessoncut.workflow.analyze import Request, analyze
from lessoncut.workflow.lesson import paced

pytestmark = pytest.mark.slow

READER = Path(__file__).parents[2] / "sample_media" / "reader"


def test_a_line_in_a_second_file_fills_its_place(tmp_path: Path) -> None:
    take, script = READER / "reader.m4a", READER / "script.md"
    truth = json.loads((READER / "truth.json").read_text(encoding="utf-8"))
    (dropped,) = (finding for finding in truth["findings"] if finding["kind"] == "dropped_line")
    line, lacking = dropped["line"], dropped["pass"]
    lent = next(one for one in truth["readings"] if one["line"] == line and one["kept"])
    spoken = Span(milliseconds(lent["start_s"]), milliseconds(lent["end_s"])).padded(300, 300)
    with wave.open(str(tmp_path / "pick-up.wav"), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE_HZ)
        file.writeframes(cut(decode(probe((take,)), tmp_path / "sound.npy"), spoken).tobytes())

    at_hand = analyze(Request((take, tmp_path / "pick-up.wav"), script), tmp_path / "lesson")

    assert not [one for one in at_hand.found.findings if one.kind == "dropped_line" and one.line_id == line]
    kept = at_hand.found.match.kept(line, lacking)
    assert kept is not None
    later = at_hand.found.take.spans[1]
    assert kept.span.start_ms == pytest.approx(later.start_ms + 300, abs=60)
    assert kept.span.length_ms == pytest.approx(spoken.length_ms - 600, abs=120)
    lesson = paced(at_hand, Pacing(split=False))
    assert [row.line_id for row in gap_rows(lesson.on_lesson)] == [
        each["id"] for each in truth["lines"] if each["in_passage"]
    ]
