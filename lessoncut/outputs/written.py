"""How times and script text are written where several formats agree."""

from __future__ import annotations

import unicodedata


def one_line(text: str) -> str:
    """The text without line ends, control characters and doubled spaces, which no title or cue may hold."""
    plain = "".join(" " if char.isspace() else char for char in text if char.isspace() or not _unwritable(char))
    return " ".join(plain.split())


def _unwritable(char: str) -> bool:
    return unicodedata.category(char) in ("Cc", "Cs", "Cn")


def timestamp(at_ms: int, separator: str = ".") -> str:
    """``hh:mm:ss.ttt``, as WebVTT, TTML and (with a comma) SRT write it."""
    at_s, thousandths = divmod(at_ms, 1000)
    minutes, second = divmod(at_s, 60)
    hours, minute = divmod(minutes, 60)
    return f"{hours:02d}:{minute:02d}:{second:02d}{separator}{thousandths:03d}"


def markup_escaped(text: str) -> str:
    """Text for WebVTT and XML: ``&``, ``<`` and ``>`` as character references, so that ``-->`` cannot stand either."""
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def lookalikes(text: str, characters: str) -> str:
    """The text with signs that a format has no escape for replaced by signs that look like them."""
    return "".join(_LOOKALIKES[char] if char in characters else char for char in text)


_LOOKALIKES = {"{": "\uff5b", "}": "\uff5d", "\\": "\uff3c", "<": "\u2039", ">": "\u203a"}


_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "＝", "＋", "－", "＠")
"""A cell that begins so may be run as a formula (OWASP, "CSV Injection")."""
BYTE_ORDER_MARK = "\ufeff"
"""What makes spreadsheets take a table for UTF-8."""


def cell(text: str) -> str:
    """Text that a spreadsheet shows and never runs."""
    return f"'{text}" if text.startswith(_FORMULA_STARTS) else text
