"""What the page asks for, understood: its JSON to the subject of a decision. Ids are those of the state it was sent."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any, TypeVar

from lessoncut.decisions import subjects
from lessoncut.decisions.log import pick_ups
from lessoncut.decisions.records import Edge, Subject
from lessoncut.errors import ChoiceError
from lessoncut.lesson.pacing import Pacing
from lessoncut.matching.records import Reading
from lessoncut.outputs.choices import PAPERS, YOUR_TURN, Choices
from lessoncut.render.records import AS_USUAL, Wishes
from lessoncut.teaching.sounds import wanted as wanted_sounds
from lessoncut.times import Span
from lessoncut.workflow.opened import Opened
from lessoncut.workflow.studying import Targets

Body = Mapping[str, Any]
Before = TypeVar("Before", int, int | None)
QUIETEST_LUFS, LOUDEST_LUFS = -40.0, -5.0
"""As for ``lessoncut export --loudness``."""


@dataclass(frozen=True)
class Asked:
    """One decision to be made. ``value`` and ``reading`` as in ``Decision``."""

    subject: Subject
    choice: str
    value: str | int | None = None
    reading: Span | None = None


def asked(body: Body, lesson: Opened) -> Asked:
    """Raises ChoiceError for what this lesson does not have."""
    about = body.get("about")
    if not isinstance(about, dict):
        raise ChoiceError("the page did not say what the decision is about")
    make = _ABOUT.get(str(about.get("kind")))
    if make is None:
        raise ChoiceError(f"there is nothing called {about.get('kind')!r} to decide about")
    choice, value = _text(body, "choice"), body.get("value")
    if not (value is None or type(value) in (int, str)):
        raise ChoiceError("the value must be a whole number or a text", where=choice)
    reading = _reading(lesson, str(body["reading"])).span if body.get("reading") else None
    return Asked(make(lesson, about), choice, value, reading)


def _finding(lesson: Opened, about: Body) -> Subject:
    finding = next((item for item in lesson.found.findings if item.id == about.get("id")), None)
    if finding is None:
        raise ChoiceError(f"there is no finding {about.get('id')!r}")
    return subjects.about_finding(finding, lesson.found.script, lesson.found.match)


def _slot(lesson: Opened, about: Body) -> Subject:
    return subjects.about_slot(_line(lesson, about), _pass(lesson, about), lesson.found.script, lesson.found.match)


def _edge(lesson: Opened, about: Body) -> Subject:
    edges: dict[str, Edge] = {"start": "start", "end": "end"}
    edge = _text(about, "edge")
    if edge not in edges:
        raise ChoiceError("an edge is a start or an end")
    return subjects.about_edge(_reading(lesson, _text(about, "reading")), edges[edge], lesson.found.script)


def _caption(lesson: Opened, about: Body) -> Subject:
    return subjects.about_caption(_reading(lesson, _text(about, "reading")), lesson.found.script)


def _gap(lesson: Opened, about: Body) -> Subject:
    return subjects.about_gap(_line(lesson, about), lesson.found.script)


def _chapter(lesson: Opened, about: Body) -> Subject:
    found = lesson.found
    section = about.get("section")
    if about.get("line") is not None:
        return subjects.about_added_chapter(_line(lesson, about), _pass(lesson, about), found.script, found.match)
    if type(section) is not int or not 0 <= section < len(found.script.sections):
        raise ChoiceError(f"there is no section {section!r}")
    return subjects.about_section(section, _pass(lesson, about), found.script, found.match)


def _aside(lesson: Opened, about: Body) -> Subject:
    start_ms = about.get("start_ms")
    aside = next((item for item in lesson.found.match.asides if item.span.start_ms == start_ms), None)
    if aside is None:
        raise ChoiceError("nothing outside the script is said there")
    return subjects.about_aside(aside.span)


def _pick_up(lesson: Opened, about: Body) -> Subject:
    """Pick-ups are added by ``/pick-up``, and taken away by their number."""
    paths = pick_ups(lesson.log.current)
    number = about.get("number")
    if type(number) is not int or not 1 <= number <= len(paths):
        raise ChoiceError(f"there is no pick-up {number!r}")
    return subjects.about_pick_up(paths[number - 1])


_ABOUT: dict[str, Callable[[Opened, Body], Subject]] = {
    "finding": _finding,
    "slot": _slot,
    "edge": _edge,
    "caption": _caption,
    "gap": _gap,
    "chapter": _chapter,
    "aside": _aside,
    "pick_up": _pick_up,
}


def _line(lesson: Opened, about: Body) -> str:
    line_id = about.get("line")
    if not any(line.id == line_id for line in lesson.found.script.lines):
        raise ChoiceError(f"there is no line {line_id!r}")
    return str(line_id)


def _pass(lesson: Opened, about: Body) -> str | None:
    pass_id = about.get("pass")
    known = {slot.pass_id for slot in lesson.effects.slots} | {None}
    if pass_id not in known:
        raise ChoiceError(f"there is no pass {pass_id!r}")
    return pass_id


def _reading(lesson: Opened, reading_id: str) -> Reading:
    for reading in lesson.found.match.readings:
        if reading.id == reading_id:
            return reading
    raise ChoiceError(f"there is no reading {reading_id!r}")


def _text(body: Body, name: str) -> str:
    value = body.get(name)
    if not isinstance(value, str):
        raise ChoiceError(f"the page did not say which {name}")
    return value


# -- pacing, target sounds, export --------------------------------------------------------------------


def pacing_asked(body: Body, before: Pacing) -> Pacing:
    """The pacing that the page's controls stand at; what it does not name stays. Raises ChoiceError."""
    level = body.get("level", before.level)
    if not isinstance(level, str):
        raise ChoiceError("a level is a text")
    base = (
        before if level == before.level else replace(before, level=level, factor=None, reaction_ms=None, most_ms=None)
    )
    factor = _number(body, "factor")
    return replace(
        base,
        factor=base.factor if factor is None else Fraction(str(factor)),
        reaction_ms=_ms(body, "reaction_ms", base.reaction_ms),
        least_ms=_ms(body, "least_ms", base.least_ms),
        most_ms=_ms(body, "most_ms", base.most_ms),
        split=_flag(body, "split", base.split),
        build_up=_flag(body, "build_up", base.build_up),
        fill="hold" if _flag(body, "hold", base.fill == "hold") else "recorded",
    )


def targets_asked(body: Body) -> Targets:
    """Raises ChoiceError for sounds that there are not."""
    sounds = " ".join(_text(body, "sounds").split())
    wanted_sounds(sounds)
    return Targets(sounds)


def choices_asked(body: Body, before: Choices) -> Choices:
    """What the handout, the captions that teach and the practice pack hold. Raises ChoiceError."""
    paper = next((name for name in PAPERS if name == body.get("paper", before.paper)), None)
    if paper is None:
        raise ChoiceError(f"the paper is one of {', '.join(PAPERS)}")
    return Choices(
        paper=paper,
        **{
            name: _flag(body, name, getattr(before, name)) for name in ("ipa", "melody", "bars", "ties", "room", "slow")
        },
        url=(_text(body, "url").strip() or None) if "url" in body else before.url,
        your_turn=(_text(body, "your_turn").strip() or YOUR_TURN) if "your_turn" in body else before.your_turn,
    )


def wishes_asked(body: Body) -> Wishes:
    """How sound and picture are exported. Raises ChoiceError."""
    loudness = body.get("loudness", "standard")
    if loudness not in ("standard", "off"):
        loudness = _number(body, "loudness")
        if loudness is None or not QUIETEST_LUFS <= loudness <= LOUDEST_LUFS:
            raise ChoiceError(f"the loudness is from {QUIETEST_LUFS:g} to {LOUDEST_LUFS:g} LUFS")
    return Wishes(
        loudness=loudness,
        high_pass=_flag(body, "high_pass", AS_USUAL.high_pass),
        prompt=_flag(body, "prompt", AS_USUAL.prompt),
        with_model=_flag(body, "with_model", AS_USUAL.with_model),
    )


def _ms(body: Body, name: str, before: Before) -> int | Before:
    value = _number(body, name)
    return before if value is None else round(value)


def _number(body: Body, name: str) -> int | float | None:
    value = body.get(name)
    if value is None:
        return None
    if type(value) not in (int, float) or not abs(value) < 1e9:
        raise ChoiceError(f"{name.removesuffix('_ms').replace('_', ' ')} must be a number")
    return value  # type: ignore[no-any-return]


def _flag(body: Body, name: str, before: bool) -> bool:
    value = body.get(name, before)
    if type(value) is not bool:
        raise ChoiceError(f"{name} is either on or off")
    return value
