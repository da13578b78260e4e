"""What a case of the table is, and what holds for every one of them."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from lessoncut.errors import InputError
from tests.robustness.scene import Scene

Step = Callable[[Scene], object]
ANALYZE = "analyze {take} {script} --lesson {lesson}"


@dataclass(frozen=True)
class Case:
    """One row: what is bad, how it is made, what is run, and what must come of it.

    ``says`` is a part of what the user reads (a regular expression); an error's next line begins with "Try:".
    ``leaves`` tells what the folder is like afterwards:

    - ``nothing``: not one file in it was made, changed or lost;
    - ``hearing``: nothing outside the lesson folder changed, and the lesson folder keeps what was expensive;
    - ``lesson``: nothing outside the lesson folder changed, and all files of the lesson are whole.

    Whatever it is, the take and the script are byte for byte what they were, and nothing unfinished lies about.
    """

    name: str
    made: Step
    code: int
    says: str = ""
    holds: Step | None = None
    command: str = ANALYZE
    leaves: Literal["nothing", "hearing", "lesson"] = "nothing"
    process: Literal["", "alone", "permitted"] = ""
    tries: bool = True
    """Whether an error says what to try."""
    slow: bool = False

    def check(self, scene: Scene) -> None:
        self.made(scene)
        before = scene.looks()
        words = scene.words(self.command)
        code, said = (
            scene.run_alone(words, as_permitted=self.process == "permitted") if self.process else scene.run(words)
        )
        assert code == self.code, said
        assert re.search(self.says, said), said
        assert "Traceback" not in said
        assert "something went wrong that should not" not in said
        if code == InputError.exit_code and self.tries:
            assert "Try: " in said, said
        after = scene.looks()
        assert not [name for name in after if ".part-" in name]
        inside = f"{scene.lesson.relative_to(scene.at)}"
        if self.leaves == "nothing":
            assert after == before
        else:
            assert _outside(after, inside) == _outside(before, inside)
            scene.whole()
        if self.leaves == "hearing":
            assert str(Path(inside, "work", "hearing.json")) in after
        if self.holds:
            self.holds(scene)


def _outside(looks: dict[str, str], lesson: str) -> dict[str, str]:
    """All but the lesson and the folders that it lies in."""
    return {
        name: what
        for name, what in looks.items()
        if name != lesson and not name.startswith(f"{lesson}/") and not lesson.startswith(f"{name}/")
    }
