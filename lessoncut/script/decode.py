"""A text file's bytes as text."""

from __future__ import annotations

import codecs

from lessoncut.errors import ScriptError

_MARKS = ((codecs.BOM_UTF8, "utf-8"), (codecs.BOM_UTF16_LE, "utf-16-le"), (codecs.BOM_UTF16_BE, "utf-16-be"))


def decoded(content: bytes) -> str:
    """UTF-8 with or without its byte order mark, or UTF-16 with one; all line ends become a newline.

    Raises ScriptError with the line and the byte where it is neither.
    """
    mark, encoding = next(((mark, name) for mark, name in _MARKS if content.startswith(mark)), (b"", "utf-8"))
    body = content[len(mark) :]
    try:
        text = body.decode(encoding)
    except UnicodeDecodeError as error:
        line = _lines_before(body[: error.start].decode(encoding, "replace"))
        byte = f"0x{body[error.start]:02X}" if error.start < len(body) else "the end"
        raise ScriptError(
            f"{byte} at byte {error.start + len(mark) + 1} of the file is not {encoding.upper()[:6].rstrip('-')} text",
            where=f"line {line}",
            hint="save the script as UTF-8 in your editor",
        ) from error
    if "\0" in text:
        raise ScriptError(
            "the script holds a NUL character, so it is not plain text",
            where=f"line {_lines_before(text[: text.index(chr(0))])}",
            hint="save the script as UTF-8 text, or as .docx if it was written in a word processor",
        )
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _lines_before(text: str) -> int:
    return text.replace("\r\n", "\n").replace("\r", "\n").count("\n") + 1
