"""Chapters: the host's rules, ffmpeg's reading of its own format, and JSON Chapters."""

from __future__ import annotations

import json
import re
import subprocess
from pathlib import Path

import av
import imageio_ffmpeg
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessoncut.outputs import NotPossible
from lessoncut.outputs.chapters_description import chapters_description
from lessoncut.outputs.chapters_ffmetadata import chapters_ffmetadata
from lessoncut.outputs.chapters_json import chapters_json
from tests.outputs.programmes import harbour, programme

ROW = re.compile(r"(?:(\d+):)?([0-5]\d):([0-5]\d) (\S.*)")


def listed(content: str) -> list[tuple[int, str]]:
    """Seconds and title of each line of a description."""
    rows = []
    for line in content.splitlines():
        match = ROW.fullmatch(line)
        assert match, line
        hours, minutes, seconds, title = match.groups()
        rows.append((int(hours or 0) * 3600 + int(minutes) * 60 + int(seconds), title))
    return rows


def described(*parts: tuple[str, int], end_ms: int) -> list[tuple[int, str]]:
    return listed(chapters_description(programme([], parts=parts, duration_ms=end_ms)))


def test_long_chapters_stay_as_they_are() -> None:
    assert described(("One", 0), ("Two", 12_400), ("Three", 61_999), ("Four", 3_725_000), end_ms=3_800_000) == [
        (0, "One"),
        (12, "Two"),
        (61, "Three"),
        (3725, "Four"),
    ]


def test_ten_seconds_are_counted_on_the_written_times() -> None:
    """9.9 s from 10.05 to 19.95 is written 10 and 19: nine. 9.2 s from 10.9 to 20.1 is written 10 and 20: ten."""
    parts = [("One", 0), ("Two", 10_050), ("Three", 19_950), ("Four", 40_000)]
    assert described(*parts, end_ms=60_000) == [(0, "One / Two"), (19, "Three"), (40, "Four")]
    parts = [("One", 0), ("Two", 10_900), ("Three", 20_100), ("Four", 40_000)]
    assert [at for at, _ in described(*parts, end_ms=60_000)] == [0, 10, 20, 40]


def test_joined_titles_that_do_not_fit_give_way_to_the_longest_chapters() -> None:
    long, longer = "A title of some forty-four characters, or so", "Another one of a good forty-four characters."
    rows = described((long, 0), (longer, 4000), ("Two", 30_000), ("Three", 60_000), end_ms=90_000)
    assert rows[0] == (0, longer)


def test_a_lesson_too_short_for_three_chapters_is_said_to_be() -> None:
    with pytest.raises(NotPossible, match="3 chapters of 10 s"):
        described(("One", 0), ("Two", 9000), ("Three", 20_000), end_ms=29_000)


def test_titles_are_one_line_without_angle_brackets() -> None:
    rows = described(("A\n<b>", 0), ("B\tC", 20_000), ("D", 40_000), end_ms=60_000)
    assert [title for _, title in rows] == ["A ‹b›", "B C", "D"]


@given(st.lists(st.integers(1, 40_000), min_size=1, max_size=30))
def test_the_hosts_rules_hold_for_any_lengths(lengths: list[int]) -> None:
    """First at 00:00, three or more, ascending, each 10 s or more (9to5google, 28 May 2020; Vevo support)."""
    starts = [sum(lengths[:at]) for at in range(len(lengths))]
    parts = [(f"T{at}", start_ms) for at, start_ms in enumerate(starts)]
    try:
        rows = described(*parts, end_ms=sum(lengths))
    except NotPossible:
        return
    ends = [*(at for at, _ in rows[1:]), sum(lengths) // 1000]
    assert rows[0][0] == 0
    assert len(rows) >= 3
    assert all(end - at >= 10 for (at, _), end in zip(rows, ends, strict=True))
    assert {at for at, _ in rows} <= {start_ms // 1000 for start_ms in starts}


def test_ffmpeg_reads_the_chapters_back_from_an_mp4(tmp_path: Path) -> None:
    """FFmpeg's own demuxer is the judge of the escapes, and the MP4's chapter track of the times."""
    made = harbour()
    metadata, video = tmp_path / "chapters.txt", tmp_path / "lesson.mp4"
    metadata.write_text(chapters_ffmetadata(made), encoding="utf-8")
    seconds = str(made.duration_ms / 1000)
    silence = ["-f", "lavfi", "-t", seconds, "-i", "anullsrc=r=8000:cl=mono"]
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-v", "error", *silence, "-i", str(metadata), "-map_metadata", "1"]
    subprocess.run([*command, "-map_chapters", "1", "-c:a", "aac", str(video)], check=True)
    with av.open(str(video)) as container:
        chapters = container.chapters()
        title = container.metadata["title"]
    assert title == "Ship & sheep: {\\b1}vowels"
    assert [chapter["metadata"]["title"] for chapter in chapters] == [
        "Opening",
        "Two sounds; which = which?",
        "Model <1>",
        "Repeat --> now you",
        "Ending #5",
    ]
    starts = [round(chapter["start"] * chapter["time_base"] * 1000) for chapter in chapters]
    assert starts == [part.span.start_ms for part in made.parts]


@pytest.mark.parametrize("title", ["a\\", "=;#\\", "\\n", "two\nlines", "[CHAPTER]", "START=5", ";comment"])
def test_no_title_breaks_ffmetadata(title: str) -> None:
    """FFmpeg manual, "Metadata": ``=``, ``;``, ``#``, the backslash and line ends are escaped by a backslash."""
    made = programme([], parts=[(title, 0)], duration_ms=5000)
    lines = chapters_ffmetadata(made).splitlines()
    assert [line for line in lines if line.startswith("[")] == ["[CHAPTER]"]
    written = lines[-1].removeprefix("title=")
    assert re.fullmatch(r"(?:[^=;#\\]|\\[=;#\\])*", written)
    assert re.sub(r"\\(.)", r"\1", written) == " ".join(title.split())


def test_a_long_title_is_cut_on_a_character_at_255_bytes() -> None:
    """An MP4's chapter list counts the bytes of a title in eight bits."""
    made = programme([], parts=[("é" * 200, 0)], duration_ms=5000)
    title = chapters_ffmetadata(made).splitlines()[-1].removeprefix("title=")
    assert title == "é" * 127


def test_json_chapters_have_what_version_1_2_requires() -> None:
    """Podcast namespace, jsonChapters.md 1.2: ``version`` a string, ``chapters`` each with ``startTime`` in seconds,
    ascending; ``endTime`` and ``title`` optional."""
    made = harbour()
    read = json.loads(chapters_json(made))
    assert isinstance(read["version"], str) and read["version"].startswith("1.2")
    starts = [chapter["startTime"] for chapter in read["chapters"]]
    assert all(isinstance(start, float) for start in starts)
    assert starts == sorted(starts)
    assert [chapter["endTime"] for chapter in read["chapters"][:-1]] == starts[1:]
    assert set(read["chapters"][0]) <= {"startTime", "title", "img", "url", "toc", "endTime", "location"}
    assert read["chapters"][3]["title"] == "Repeat --> now you"


def test_all_chapter_outputs_agree() -> None:
    made = harbour()
    in_metadata = [int(at) for at in re.findall(r"^START=(\d+)$", chapters_ffmetadata(made), re.MULTILINE)]
    in_json = [round(chapter["startTime"] * 1000) for chapter in json.loads(chapters_json(made))["chapters"]]
    in_description = [at for at, _ in listed(chapters_description(made))]
    assert in_metadata == in_json
    assert set(in_description) <= {at // 1000 for at in in_json}
