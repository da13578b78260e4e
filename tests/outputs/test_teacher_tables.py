from __future__ import annotations

import csv
import io

import pytest

from lessoncut.outputs import NotPossible
from lessoncut.outputs.target_sounds import target_sounds
from lessoncut.outputs.teacher_notes import teacher_notes
from lessoncut.teaching.sounds import shown
from tests.outputs.lessons import studied
from tests.outputs.programmes import harbour


def _ms(text: str) -> int:
    hours, minutes, seconds = text.split(":")
    return round((int(hours) * 60 + int(minutes)) * 60_000 + float(seconds) * 1000)


def test_every_target_sound_has_a_row_in_each_reading_inside_its_word() -> None:
    programme, _ = studied()
    study = programme.study
    assert study is not None
    rows = list(csv.DictReader(io.StringIO(target_sounds(programme).removeprefix("\ufeff"))))
    assert len(rows) == 2 * len(study.targets.places)
    wanted = [(shown(place.sound), place.text, place.position, place.line_id) for place in study.targets.places]
    found = [(row["sound"], row["word"], row["position"], row["line"]) for row in rows if row["pass"] == "model"]
    assert sorted(found) == sorted(wanted)
    for row in rows:
        # This lesson is the take itself: both clocks agree.
        assert row["starts"] == row["starts_in_take"]
        said = [one for one in programme.said if one.mark.line_id == row["line"]]
        assert any(one.span.contains(_ms(row["starts"])) for one in said)


def test_the_notes_tell_pace_lines_and_coverage() -> None:
    programme, _ = studied(voiced=True)
    text = teacher_notes(programme)
    assert "model reading: " in text
    assert "/v/: " in text
    study = programme.study
    assert study is not None
    for table in study.targets.coverage:
        assert f"{shown(table.sound)}: {table.total} in the passage" in text
    assert "Left out" in text
    assert all(line.id in text for line in study.passage)


def test_an_unknown_word_is_named_in_the_notes() -> None:
    programme, _ = studied("The voovet waits here.")
    assert "guessed from the letters: voovet" in teacher_notes(programme)


def test_without_sounds_or_study_there_is_no_table() -> None:
    with pytest.raises(NotPossible):
        target_sounds(studied(sounds="")[0])
    with pytest.raises(NotPossible):
        teacher_notes(harbour())
