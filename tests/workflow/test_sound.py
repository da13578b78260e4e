"""The levels of a take, kept in the lesson folder."""

from __future__ import annotations

import gc
from pathlib import Path

import numpy as np
import pytest

from lessoncut.workflow.sound import Sound
from tests.workflow.lessons import made_lesson, take


@pytest.mark.parametrize("damaged", [b"", b"PK\x03\x04", b"PK\x03\x04 cut off", b"nothing of the kind"])
def test_damaged_levels_are_measured_again_and_their_file_is_closed(tmp_path: Path, damaged: bytes) -> None:
    """A file left open is a warning, and warnings are errors here."""
    take_path = tmp_path / "take.wav"
    sound = Sound(made_lesson(tmp_path / "lesson", take_path), take(take_path))
    kept = sound.folder.levels_path(sound.key)
    kept.unlink(missing_ok=True)
    measured = sound.levels()
    kept.write_bytes(damaged)
    again = sound.levels()
    gc.collect()
    assert np.array_equal(again.voice_db, measured.voice_db) and np.array_equal(again.hiss_db, measured.hiss_db)
    assert kept.stat().st_size > len(damaged)
