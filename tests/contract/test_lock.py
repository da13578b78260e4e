"""The locked packages are what pyproject.toml asks for, in one version each, with hashes, from no address."""

import re
import tomllib
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[2]
LOCK = (ROOT / ".ci" / "lock.txt").read_text(encoding="utf-8")
ENTRY = re.compile(r"^([a-z0-9.-]+)==(\S+)((?: \\\n    --hash=sha256:[0-9a-f]{64})+)$", re.MULTILINE)
"""One package of a requirements file with hashes (pip's documentation, "Secure installs")."""


def locked() -> dict[str, str]:
    return {canonicalize_name(name): version for name, version, _ in ENTRY.findall(LOCK)}


def test_every_entry_has_one_version_and_hashes() -> None:
    entries = [line for line in LOCK.splitlines() if line and not line.startswith(("#", " "))]
    assert len(entries) == len(ENTRY.findall(LOCK)) == len(locked())


def test_what_is_asked_for_is_locked() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"]
    versions = locked()
    for wanted in map(Requirement, (*project["dependencies"], *extras["offline"], *extras["batch"])):
        assert versions[canonicalize_name(wanted.name)] in wanted.specifier, f"{wanted}: run .ci/lock"


def test_no_address_is_named() -> None:
    assert not re.search(r"://|--(extra-)?index-url|--find-links|--trusted-host", LOCK)
