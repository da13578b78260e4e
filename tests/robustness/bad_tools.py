"""The installation: an ffmpeg that is missing, old or breaks off, a model folder that is broken."""

from __future__ import annotations

from pathlib import Path

import imageio_ffmpeg

from lessoncut.ffmpeg import CHOICE
from tests.robustness.bad_places import one_decision, still_decided
from tests.robustness.scene import Scene
from tests.robustness.table import ANALYZE, Case, Step
from tests.take.test_ffmpeg import WITH_H264, stand_in

TOOL = 3
"""The exit code: a part of the installation failed."""
WITH_MODEL = f"{ANALYZE} --model {{at}}/model"
WITH_LANGUAGE = f"{WITH_MODEL} --language en"


def chosen(body: str | None, about: str = f"libavutil      58. 29.100 / 58. 29.100\n{WITH_H264}") -> Step:
    """``LESSONCUT_FFMPEG`` names a program that does this; None: one that is not there."""

    def make(scene: Scene) -> None:
        path = scene.at / "ffmpeg"
        if body is not None:
            stand_in(path, body, about=about)
        scene.env[CHOICE] = str(path)

    return make


def none_at_all(scene: Scene) -> None:
    scene.env |= {CHOICE: "", "PATH": str(scene.at), "IMAGEIO_FFMPEG_EXE": str(scene.at / "nothing")}


def breaking_off(after_bytes: int, ending: str) -> Step:
    """The real ffmpeg, whose output ends after so many bytes, and then it fails."""
    real = imageio_ffmpeg.get_ffmpeg_exe()
    return chosen(f'"{real}" "$@" | head -c {after_bytes}; {ending}')


def not_to_be_run(scene: Scene) -> None:
    path = scene.at / "ffmpeg"
    path.write_text("no program")
    path.chmod(0o755)
    scene.env[CHOICE] = str(path)


def breaking_off_at_export(scene: Scene) -> None:
    one_decision(scene)
    breaking_off(1000, "echo 'Conversion went wrong' >&2; exit 1")(scene)


def model(**files: bytes) -> Step:
    """A model folder with these files; the project's own recogniser is asked."""

    def make(scene: Scene) -> None:
        scene.deaf = True
        folder = Path(scene.at / "model")
        folder.mkdir()
        for name, content in files.items():
            (folder / name.replace("_", ".")).write_bytes(content)

    return make


def no_model(scene: Scene) -> None:
    scene.deaf = True


def decision_safe(scene: Scene) -> None:
    still_decided(scene)
    assert scene.outputs() == []


NONE = r"no usable ffmpeg was found Try: install ffmpeg 5 or later"
UNFIT = rf"{CHOICE}=.*: this ffmpeg does not run or is older than version 5 Try: name an ffmpeg of version 5 or later"
UNLOADABLE = r"model: the recogniser model cannot be loaded \(.*\) Try: --device cpu, or another model"

CASES = (
    Case("no ffmpeg at all", none_at_all, TOOL, NONE),
    Case("the ffmpeg that was chosen is missing", chosen(None), TOOL, UNFIT),
    Case("the ffmpeg that was chosen is ancient", chosen("exit 0", "libavutil      54. 31.100"), TOOL, UNFIT),
    Case("the ffmpeg that was chosen is no program", not_to_be_run, TOOL, UNFIT),
    Case(
        "ffmpeg exits midway",
        breaking_off(20_000, "echo 'demuxing went wrong' >&2; exit 1"),
        2,
        "ffmpeg cannot read it",
    ),
    Case("ffmpeg is killed midway", breaking_off(20_000, "kill -9 $$"), TOOL, r"ffmpeg was stopped by signal 9 Try"),
    Case(
        "ffmpeg finds the disk full",
        breaking_off(20_000, "echo 'No space left on device' >&2; exit 1"),
        TOOL,
        r"the disk is full Try: make room",
    ),
    Case(
        "ffmpeg exits midway through an export",
        breaking_off_at_export,
        2,
        r"ffmpeg cannot read it: .*went wrong Try",
        decision_safe,
        "export {lesson} --only lesson-sound",
        "lesson",
    ),
    Case(
        "an empty model folder",
        model(),
        2,
        r"this is no converted model: model\.bin, config\.json, tokenizer\.json not",
        None,
        WITH_MODEL,
    ),
    Case(
        "a model folder without its model",
        model(config_json=b"{}", tokenizer_json=b"{}"),
        2,
        r"this is no converted model: model\.bin not in it Try",
        None,
        WITH_MODEL,
    ),
    Case(
        "a broken model",
        model(model_bin=b"broken" * 100, config_json=b"{}", tokenizer_json=b"{}"),
        TOOL,
        UNLOADABLE,
        None,
        WITH_LANGUAGE,
    ),
    Case(
        "a model of zero bytes",
        model(model_bin=b"", config_json=b"", tokenizer_json=b""),
        TOOL,
        UNLOADABLE,
        None,
        WITH_LANGUAGE,
    ),
    Case(
        "a model nobody knows",
        no_model,
        2,
        r"no model of this name: enormous Try: a folder, or one of",
        None,
        f"{ANALYZE} --model enormous",
    ),
)
