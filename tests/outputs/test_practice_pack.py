from __future__ import annotations

import csv
import io
from dataclasses import replace
from pathlib import Path
from zipfile import ZipFile

import av
import numpy as np
import pytest
import soundfile
from mutagen.id3 import ID3

from lessoncut.hearing.pitch import Floats, median_hz, pitch
from lessoncut.outputs import NotPossible, named
from lessoncut.outputs.choices import Choices
from lessoncut.outputs.practice_pack import AFTER_MS, BEFORE_MS, cut_lines, pack_lines, table_of
from lessoncut.outputs.programme import Programme
from lessoncut.render.bench import bench_in
from lessoncut.take.samples import RATE_HZ
from tests.outputs.lessons import studied
from tests.outputs.programmes import programme as bare_programme
from tests.render.lessons import filmed

SHORT = "Victor waved.\nWe went =west."


def _decoded(path: Path) -> tuple[Floats, int]:
    """Read back with PyAV, apart from the ffmpeg that wrote it."""
    with av.open(str(path)) as container:
        frames = [frame.to_ndarray() for frame in container.decode(audio=0)]
        return np.concatenate(frames, axis=-1).mean(axis=0).astype(np.float64), container.streams.audio[0].rate


@pytest.fixture
def lesson(tmp_path: Path) -> tuple[Programme, Path]:
    programme, samples = studied(SHORT, voiced=True)
    path = tmp_path / "lesson.wav"
    soundfile.write(path, samples, RATE_HZ)
    return programme, path


def test_every_line_has_its_files_in_order_and_they_last_as_long_as_they_should(
    lesson: tuple[Programme, Path], tmp_path: Path
) -> None:
    programme, media = lesson
    folder = tmp_path
    lines = pack_lines(programme, slow=True)
    written = cut_lines(lines, programme.title, media, folder)
    assert [path.name for path in written] == [
        "01_model.mp3", "01_model_and_gap.mp3", "01_slow.mp3", "02_model.mp3", "02_model_and_gap.mp3", "02_slow.mp3",
    ]  # fmt: skip
    line = lines[0]
    model, rate = _decoded(folder / "01_model.mp3")
    wanted_s = line.span.length_ms / 1000
    assert len(model) / rate == pytest.approx(wanted_s, abs=0.08)
    with_gap, _ = _decoded(folder / "01_model_and_gap.mp3")
    assert len(with_gap) / rate == pytest.approx(wanted_s + 3.2, abs=0.08)
    assert np.abs(with_gap[int(rate * (wanted_s + 0.3)) :]).max() < 0.01
    slow, _ = _decoded(folder / "01_slow.mp3")
    assert len(slow) / rate == pytest.approx(wanted_s / 0.8, abs=0.15)


def test_the_pack_is_one_zip_file_with_a_table_of_what_is_in_it(tmp_path: Path) -> None:
    """Read with zipfile, csv and mutagen: a row a line, its files there, and tags that players sort by."""
    lesson = filmed(tmp_path, "-vn", name="take.wav")
    kind = named("practice-pack")
    path = tmp_path / kind.file_name("lesson")
    with bench_in(tmp_path) as bench:
        kind.write(replace(lesson.programme, choices=Choices(slow=True)), path, bench)
    with ZipFile(path) as pack:
        rows = list(csv.DictReader(io.StringIO(pack.read("lines.csv").decode("utf-8-sig"))))
        names = [row[column] for row in rows for column in ("model", "model_and_gap", "slow")]
        assert pack.namelist() == [*names, "lines.csv"]
        assert names == sorted(names)
        model = [said.text for said in lesson.programme.said if said.mark.pass_kind == "model"]
        assert [row["text"] for row in rows] == model
        for number, row in enumerate(rows, start=1):
            tags = ID3(io.BytesIO(pack.read(row["slow"])))
            assert tags["TIT2"].text == [f"{number}. {row['text']}"]
            assert tags["TRCK"].text == [f"{number}/{len(rows)}"]
            assert tags["TALB"].text == [lesson.programme.title]


def test_the_slow_version_keeps_its_pitch(lesson: tuple[Programme, Path], tmp_path: Path) -> None:
    programme, media = lesson
    cut_lines(pack_lines(programme, slow=True), programme.title, media, tmp_path)
    heights = []
    for name in ("01_model.mp3", "01_slow.mp3"):
        sound, rate = _decoded(tmp_path / name)
        height = median_hz(pitch(sound, rate))
        assert height is not None
        heights.append(height)
    assert heights[1] == pytest.approx(heights[0], rel=0.03)


def test_the_table_is_read_by_another_reader_and_runs_no_formula(lesson: tuple[Programme, Path]) -> None:
    programme, _ = lesson
    table = table_of(pack_lines(programme))
    assert table.startswith("\ufeff")
    rows = list(csv.DictReader(io.StringIO(table.removeprefix("\ufeff"))))
    assert [row["model"] for row in rows] == ["01_model.mp3", "02_model.mp3"]
    assert rows[0]["text"] == "Victor waved."
    assert rows[0]["phonetic"] == "/ˈvɪktər weɪvd/"
    assert rows[0]["gap_s"] == "3.200"
    assert not any(value.startswith(("=", "+", "-", "@")) for row in rows for value in row.values())


def test_the_air_around_a_line_never_reaches_its_neighbour() -> None:
    programme, _ = studied(SHORT)
    lines = pack_lines(programme)
    first = programme.said[0].span
    assert (lines[0].span.start_ms, lines[0].span.end_ms) == (first.start_ms - BEFORE_MS, first.end_ms + AFTER_MS)
    for line, after in zip(lines, programme.said[1:], strict=False):
        assert line.span.end_ms <= after.span.start_ms


def test_without_a_model_reading_there_is_no_pack() -> None:
    with pytest.raises(NotPossible):
        pack_lines(bare_programme([], parts=[], duration_ms=0))
