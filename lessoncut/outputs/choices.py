"""What the teacher wants of the outputs that teach: the handout, the captions that teach, the practice pack."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args
from urllib.parse import urlsplit

from lessoncut.errors import ChoiceError

Paper = Literal["a4", "letter"]
PAPERS: tuple[Paper, ...] = get_args(Paper)
YOUR_TURN = "Your turn"


@dataclass(frozen=True)
class Choices:
    """What the handout shows, what calls the learner in a gap, and whether the practice pack has slow versions.

    ``url`` is where the lesson can be seen: every line's time then leads into it. Raises ChoiceError for one that no
    browser would open.
    """

    paper: Paper = "a4"
    ipa: bool = False
    melody: bool = False
    bars: bool = True
    ties: bool = True
    room: bool = True
    url: str | None = None
    your_turn: str = YOUR_TURN
    slow: bool = False

    def __post_init__(self) -> None:
        if self.url is None:
            return
        try:
            parts = urlsplit(self.url)
        except ValueError:
            parts = urlsplit("")
        if parts.scheme not in ("http", "https") or not parts.netloc or self.url.split() != [self.url]:
            raise ChoiceError(
                f"“{self.url}” is no address of a page", hint="write it in full, such as https://example.org/lesson"
            )


PLAIN = Choices()
