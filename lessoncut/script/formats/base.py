"""What a script format is."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from lessoncut.script.blocks import Block


@dataclass(frozen=True)
class ScriptFormat:
    """How to add a format:

    1. Put a module into this folder; it is found by itself. Its library, if it needs one, is imported there alone.
    2. Write ``blocks(content)``: the file's bytes to headings and paragraphs in order. Text files begin with
       ``decode.decoded``. Marks become ``Run(stress=...)`` and ``Run(phrase=...)``; sentences, sections, ids and white
       space are not its business.
    3. Whatever is wrong with the content becomes a ScriptError whose ``where`` is the line, never another exception.
    4. End the module with ``FORMAT = ScriptFormat(name, suffixes, blocks)``, suffixes in lower case with their dot.
    5. Add a file of the format to ``tests/script/test_formats.py``: the tests there hold for every format.
    """

    name: str
    suffixes: tuple[str, ...]
    blocks: Callable[[bytes], Sequence[Block]]
