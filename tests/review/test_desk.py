"""How often the desk looks at what stands on the disk."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from lessoncut.decisions import log
from lessoncut.outputs.choices import Choices
from lessoncut.review.desk import Desk
from lessoncut.workflow import opened, setting
from lessoncut.workflow.studying import Targets, remember_choices, remember_targets
from tests.review.lessons import reviewed


def test_the_log_is_read_and_replayed_once_a_revision(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = reviewed(tmp_path / "lesson")
    desk = Desk(folder)
    remember_targets(folder, Targets("v/w"))
    calls: list[str] = []

    def counted(name: str, call: Callable[..., object]) -> Callable[..., object]:
        def counting(*arguments: object) -> object:
            calls.append(name)
            return call(*arguments)

        return counting

    for module in (opened, setting):
        monkeypatch.setattr(module, "parse", counted("parse", log.parse))
    monkeypatch.setattr(log, "replayed", counted("replay", log.replayed))
    first = desk.seen()
    assert (first.targets.sounds, first.undoes, calls) == ("v/w", "the target sounds", ["parse", "replay"])
    assert desk.seen() is first
    assert calls == ["parse", "replay"], "nothing has changed"
    calls.clear()
    remember_choices(folder, Choices(ipa=True))  # looks what held before
    assert calls == ["parse", "replay"]
    assert desk.seen().choices.ipa
    assert calls == ["parse", "replay"] * 2
