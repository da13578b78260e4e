"""The picture of the practice tracks: what can be one, and what is wrong with what cannot."""

from __future__ import annotations

from pathlib import Path

from lessoncut.errors import InputError

MOST_BYTES = 10_000_000
_MAGIC = {b"\xff\xd8\xff": ".jpg", b"\x89PNG\r\n\x1a\n": ".png"}


def read_cover(path: Path) -> bytes:
    """Raises InputError."""
    try:
        return path.read_bytes()
    except OSError as error:
        raise InputError(f"the cover cannot be read ({error.strerror})", where=str(path)) from error


def cover_suffix(content: bytes, name: str) -> str:
    """How the name of such a picture ends, by its first bytes. Raises InputError about ``name`` for no picture."""
    suffix = next((suffix for magic, suffix in _MAGIC.items() if content.startswith(magic)), None)
    if suffix is None:
        raise InputError("the cover is neither a JPEG nor a PNG picture", where=name)
    if len(content) > MOST_BYTES:
        raise too_large(name)
    return suffix


def too_large(name: str) -> InputError:
    return InputError("the cover is too large", where=name, hint=f"a picture of at most {MOST_BYTES // 1_000_000} MB")
