"""The options of ``export`` for handout, teaching captions and practice pack."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Any

import typer

from lessoncut.errors import ChoiceError
from lessoncut.outputs.choices import PAPERS, Choices

OnPaper = Annotated[
    str | None,
    typer.Option("--paper", metavar="NAME", help="Handout: its paper, a4 or letter."),
]
Ipa = Annotated[bool | None, typer.Option("--ipa/--no-ipa", help="Handout: phonetic signs under every line.")]
Melody = Annotated[
    bool | None,
    typer.Option("--melody/--no-melody", help="Handout: the melody drawn under every line."),
]
Bars = Annotated[bool | None, typer.Option("--bars/--no-bars", help="Handout: bars between thought groups.")]
Linking = Annotated[
    bool | None,
    typer.Option("--linking/--no-linking", help="Handout: ties between words said as one."),
]
Room = Annotated[bool | None, typer.Option("--room/--no-room", help="Handout: room to write under every line.")]
Address = Annotated[
    str | None,
    typer.Option(
        "--url",
        metavar="ADDRESS",
        help="Handout: where learners find the lesson, for its QR code and times; the word none takes it away.",
    ),
]
YourTurn = Annotated[
    str | None,
    typer.Option("--your-turn", metavar="WORDS", help="Captions that teach: what they say in a gap."),
]
Slow = Annotated[
    bool | None,
    typer.Option("--slow/--no-slow", help="Practice pack: every line slowly, too."),
]


def choices_from(
    before: Choices,
    paper: str | None,
    ipa: bool | None,
    melody: bool | None,
    bars: bool | None,
    linking: bool | None,
    room: bool | None,
    url: str | None,
    your_turn: str | None,
    slow: bool | None,
) -> Choices:
    """The choices with what was asked for changed. Raises ChoiceError."""
    if paper is not None and paper.lower() not in PAPERS:
        raise ChoiceError(f"there is no paper {paper!r}", hint=f"one of {', '.join(PAPERS)}")
    asked: dict[str, Any] = {
        "paper": paper and paper.lower(), "ipa": ipa, "melody": melody, "bars": bars, "ties": linking, "room": room,
        "url": url, "your_turn": your_turn, "slow": slow,
    }  # fmt: skip
    changed = {name: value for name, value in asked.items() if value is not None}
    if url is not None and url.strip().lower() in ("", "none"):
        changed["url"] = None
    return replace(before, **changed)
