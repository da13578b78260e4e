"""``export`` and ``preview`` of sound and picture, on a lesson folder with a take that is really there."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from types import SimpleNamespace

import av
import pytest

from lessoncut.cli.exporting import told_once
from lessoncut.errors import LessonFolderError
from lessoncut.outputs import named
from lessoncut.outputs.base import Recording
from lessoncut.render.room import whole_export
from lessoncut.store import LessonFolder
from lessoncut.workflow.export import Exported, export, wanted
from lessoncut.workflow.lesson import paced, pacing_of
from lessoncut.workflow.opened import opened
from tests.cli.conftest import Run
from tests.render import clock
from tests.render.test_loudness import ebur128
from tests.workflow.lessons import playable_lesson

LENGTH_S = 37
NEEDLESS = ("scipy", "onnxruntime", "faster_whisper", "ctranslate2", "pocketsphinx", "pysubs2", "typst", "starlette")


@pytest.fixture(scope="module")
def recorded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("recorded") / "take.mp4"
    options = ("-c:v", "libx264", "-g", "25", "-c:a", "aac")
    return clock.take(path, *options, rate=Fraction(25), length_s=LENGTH_S)


@pytest.fixture
def lesson(tmp_path: Path, recorded: Path) -> LessonFolder:
    """The lesson made by hand, of a take that plays."""
    path = tmp_path / "take.mp4"
    path.write_bytes(recorded.read_bytes())
    return playable_lesson(tmp_path / "lesson", path)


def test_video_and_tracks_are_exported_and_the_teacher_is_told_how(run: Run, lesson: LessonFolder) -> None:
    names = ["lesson-video", "lesson-sound", "practice-track", "practice-track-mp3", "practice-track-slow"]
    only = [word for name in names for word in ("--only", name)]
    done = run("export", lesson.path, *only)
    assert done.returncode == 0, done.stderr
    assert "lesson-video: The picture was " in done.stderr
    files = sorted(path.name for path in (lesson.path / "outputs").iterdir())
    assert files == ["lesson-sound.m4a", "lesson-video.mp4", "practice-track-mp3.mp3", "practice-track-slow.m4a",
                     "practice-track.m4a"]  # fmt: skip
    with av.open(str(lesson.path / "outputs" / "lesson-video.mp4")) as container:
        assert [stream.type for stream in container.streams][:3] == ["video", "audio", "subtitle"]
        assert "Welcome" in [chapter["metadata"]["title"] for chapter in container.chapters()]
    assert not [path for path in (lesson.path / "work").iterdir() if path.name.startswith(".part")]


def test_a_disk_too_small_for_all_of_it_is_told_before_anything_is_made(
    lesson: LessonFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    sheet = paced(opened(lesson), pacing_of(lesson))
    recordings = [kind for kind in wanted(["lesson-video", "lesson-sound"]) if isinstance(kind, Recording)]
    programme = replace(sheet.on_lesson, footage=sheet.footage())
    needed = whole_export(sheet.footage(), [kind.needs(programme) for kind in recordings])
    monkeypatch.setattr(shutil, "disk_usage", lambda _: SimpleNamespace(free=needed - 1))
    said = rf"needs about {needed // 10**6 + 1} MB, and the disk has {(needed - 1) // 10**6} MB left"
    with pytest.raises(LessonFolderError, match=said):
        export(sheet, None, [*wanted(["captions-srt"]), *recordings])
    assert not list((lesson.path / "outputs").glob("*"))
    # For one of the two there is room.
    (done,) = export(sheet, None, wanted(["lesson-sound"]))
    assert done.path and done.path.exists()


def test_a_remark_is_told_once_for_all_that_it_is_about() -> None:
    kinds = [named(name) for name in ("lesson-sound", "lesson-video", "practice-track")]
    said = (("It is noisy: -41 LUFS.",), ("It was copied.", "It is noisy: -41 LUFS."), ("It is noisy: -40.5 LUFS.",))
    done = [Exported(kind, Path("a"), remarks=remarks) for kind, remarks in zip(kinds, said, strict=True)]
    assert told_once(done) == {
        "It is noisy: -41 LUFS.": ["lesson-sound", "lesson-video", "practice-track"],
        "It was copied.": ["lesson-video"],
    }


def test_options_reach_the_sound(run: Run, lesson: LessonFolder) -> None:
    done = run("export", lesson.path, "--only", "lesson-sound", "--loudness", "-24", "--json")
    assert done.returncode == 0, done.stderr
    (output,) = json.loads(done.stdout)["outputs"]
    # The whole take of these tests is noise, and the teacher is told so.
    assert ["noisy" in sentence for sentence in output["remarks"]] == [True]
    sound = clock.sound_in(Path(output["path"]))
    assert ebur128(sound)["I"] == pytest.approx(-24, abs=0.5)


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("export", "lesson", "--only", "lesson-sound", "--loudness", "loud"), "'loud' is no loudness"),
        (("export", "lesson", "--only", "lesson-sound", "--loudness", "3"), "LUFS from -40 to -5"),
        (("export", "lesson", "--only", "lesson-video", "--on", "take"), "nothing could be written"),
        (("export", "lesson", "--only", "practice-track", "--cover", "none.png"), "the cover cannot be read"),
        (("preview", "lesson"), "name a line or a cut"),
        (("preview", "lesson", "--line", "99"), "plays no line '99'"),
        (("preview", "lesson", "--cut", "99"), "there is no cut 99"),
        (("preview", "lesson", "--cut", "0"), "there is no cut 0"),
    ],
)
def test_mistakes_are_told(run: Run, lesson: LessonFolder, arguments: tuple[str, ...], says: str) -> None:
    done = run(*arguments)
    assert done.returncode == 2
    assert says in " ".join(done.stderr.split())
    outputs = lesson.path / "outputs"
    assert not outputs.exists() or not list(outputs.iterdir())


def test_a_take_that_is_gone_is_told_before_anything_is_made(run: Run, lesson: LessonFolder) -> None:
    (lesson.path.parent / "take.mp4").unlink()
    done = run("export", lesson.path, "--only", "lesson-video")
    assert done.returncode == 2
    assert "no longer there" in " ".join(done.stderr.split())
    assert "lessoncut analyze" in done.stderr


@pytest.mark.parametrize(
    ("asked", "says"),
    [(("--line", "3"), "L003 in the"), (("--line", "L004"), "L004 in the repeat"), (("--cut", "1"), "cut 1 of")],
)
def test_a_preview_of_a_line_or_a_cut(run: Run, lesson: LessonFolder, asked: tuple[str, ...], says: str) -> None:
    done = run("preview", lesson.path, *asked)
    assert done.returncode == 0, done.stderr
    assert says in done.stderr
    path = Path(done.stdout.strip())
    assert path == lesson.path / "outputs" / "preview.mp4"
    assert 2 <= len(clock.pictures(path)) / 25 < 10
    assert len(clock.sound_in(path)) > 48_000


def test_a_preview_starts_ffmpeg_twice_and_loads_nothing_slow(lesson: LessonFolder, tmp_path: Path) -> None:
    """What its two seconds hang on, counted rather than timed: ffmpeg once for the sound, once for all of the file,
    and once or twice to say which version it is."""
    tally = tmp_path / "tally.py"
    tally.write_text(
        "import json, subprocess, sys\n"
        "started = []\n"
        "real = subprocess.Popen.__init__\n"
        "def counted(self, args, *more, **named):\n"
        "    started.append('-version' in args)\n"
        "    real(self, args, *more, **named)\n"
        "subprocess.Popen.__init__ = counted\n"
        "from lessoncut.cli import main\n"
        "try:\n"
        "    main()\n"
        "finally:\n"
        f"    slow = [name for name in {NEEDLESS!r} if name in sys.modules]\n"
        "    print(json.dumps([started.count(False), started.count(True), slow]))\n"
    )
    command = [sys.executable, str(tally), "preview", str(lesson.path), "--line", "3"]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    jobs, versions, slow = json.loads(done.stdout.splitlines()[-1])
    assert jobs == 2
    assert versions <= 2
    assert slow == []
