"""The pages say what is there: every command is documented, every link leads somewhere."""

import json
import re
import runpy
from pathlib import Path

import pytest

from lessoncut.analysis import SCHEMA
from lessoncut.cli.app import COMMANDS
from lessoncut.matching.findings.records import FindingKind

ROOT = Path(__file__).parents[2]
PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", ROOT / "CHANGELOG.md", *sorted((ROOT / "docs").glob("*.md"))]


def test_commands_page_is_fresh() -> None:
    page = runpy.run_path(str(ROOT / "docs" / "make_commands.py"))["page"]
    kept = (ROOT / "docs" / "commands.md").read_text(encoding="utf-8")
    assert kept == page(), "stale; run: python docs/make_commands.py"


def test_evaluation_page_and_plot_are_fresh() -> None:
    made = runpy.run_path(str(ROOT / "docs" / "make_evaluation.py"))
    scores = json.loads((ROOT / "docs" / "evaluation.json").read_text(encoding="utf-8"))
    for content, path in ((made["page"](scores), made["PAGE"]), (made["plot"](scores), made["PLOT"])):
        assert path.read_text(encoding="utf-8") == content, "stale; run: python docs/make_evaluation.py"


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_is_documented_with_its_example(name: str) -> None:
    text = (ROOT / "docs" / "commands.md").read_text(encoding="utf-8")
    assert f"\n## {name}\n" in text
    assert COMMANDS[name][1] in text
    assert COMMANDS[name][1].startswith(f"lessoncut {name}")


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_links_lead_somewhere(page: Path) -> None:
    for link in re.findall(r"\]\(([^)#]+)(?:#[^)]*)?\)", page.read_text(encoding="utf-8")):
        assert not link.startswith("http"), f"{page.name} links out: {link}"
        assert (page.parent / link).exists(), f"{page.name} links to {link}, which is not there"


def test_analysis_page_names_the_schema_and_every_kind() -> None:
    text = (ROOT / "docs" / "analysis.md").read_text(encoding="utf-8")
    assert SCHEMA in text
    for kind in FindingKind.__args__:  # type: ignore[attr-defined]
        assert f"`{kind}`" in text


def test_readme_begins_with_two_blocks_to_run() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    blocks = re.findall(r"^```(\w+)\n(.*?)^```", text, flags=re.MULTILINE | re.DOTALL)
    assert [kind for kind, _ in blocks if kind == "sh"] == ["sh", "sh"]
    assert [kind for kind, _ in blocks[:2]] == ["sh", "sh"]
    assert "lessoncut demo" in blocks[0][1]
    assert blocks[1][1].endswith("pytest\n")
