"""The page's own code, checked by Node's test runner and by the TypeScript compiler. Neither is needed to run it."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest

import lessoncut.review

HERE = Path(__file__).parent
STATIC = Path(lessoncut.review.__file__).parent / "static"
COMPILER = HERE / "node_modules" / ".bin" / "tsc"


def _run(*command: str) -> None:
    done = subprocess.run(command, cwd=HERE, capture_output=True, text=True, timeout=120, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.skipif(not shutil.which("node"), reason="needs Node.js")
def test_logic() -> None:
    _run("node", "--test", "page/")


@pytest.mark.skipif(not COMPILER.exists(), reason="needs `npm install` in tests/review")
def test_types() -> None:
    _run(str(COMPILER))


@pytest.mark.parametrize("script", sorted(STATIC.glob("*.js")), ids=lambda path: path.name)
def test_text_is_only_ever_put_in_as_text(script: Path) -> None:
    """What turns text into markup or code (OWASP, "DOM based XSS Prevention Cheat Sheet"; the list from memory)."""
    sinks = (
        r"innerHTML|outerHTML|insertAdjacentHTML|document\.write|\beval\(|new Function|srcdoc|createContextualFragment"
    )
    assert not re.search(sinks, script.read_text(encoding="utf-8"))


def test_the_page_loads_nothing_from_elsewhere() -> None:
    for path in STATIC.iterdir():
        text = path.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
        assert not re.search(r"https?://|//cdn|@import url", text), path.name


def test_every_module_is_asked_for_at_once() -> None:
    """Else the browser would find them one after the other."""
    page = (STATIC / "index.html").read_text(encoding="utf-8")
    asked = re.findall(r'(?:modulepreload" href|src)="/static/(\w+\.js)"', page)
    assert sorted(asked) == sorted({path.name for path in STATIC.glob("*.js")} - {"types.js"})


def test_nothing_moves_by_itself() -> None:
    """WCAG 2.2.2: what moves for more than five seconds must be possible to stop; here nothing begins to."""
    moving = r"@keyframes|\banimation|\.animate\(|autoplay|<marquee|<blink|\.gif"
    for path in STATIC.iterdir():
        assert not re.search(moving, path.read_text(encoding="utf-8")), path.name
    assert "transition" not in re.sub(r"@media \(prefers-reduced-motion.*", "", (STATIC / "review.css").read_text())


def test_the_page_has_no_inline_code_or_style() -> None:
    text = (STATIC / "index.html").read_text(encoding="utf-8")
    assert not re.search(r"<style|style=|\son\w+=|<script(?![^>]*\ssrc=)", text)
