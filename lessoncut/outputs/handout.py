"""What a learner's handout says, before it becomes a page: the same sheet for HTML, PDF and Markdown.

Everything is marked by weight, line and shape, never by colour alone (WCAG 2.2, 1.4.1): stressed syllables are bold,
the focus of a thought group is underlined too, key phrases have a dotted line, target sounds stand in a frame of their
own shape.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Literal

from lessoncut.outputs.base import NotPossible
from lessoncut.outputs.choices import Choices
from lessoncut.outputs.programme import Programme
from lessoncut.outputs.written import one_line
from lessoncut.script.records import Line
from lessoncut.teaching.melody_svg import Melody, melody_svg
from lessoncut.teaching.pace import links
from lessoncut.teaching.records import RuleLine, RuleWord, Study
from lessoncut.teaching.sounds import shown
from lessoncut.teaching.stress_measured import strong_words
from lessoncut.teaching.syllables import ipa

PieceKind = Literal["text", "bar", "tie"]


@dataclass(frozen=True)
class Piece:
    """Letters that look alike. ``stress``: 0 none, 1 stressed syllable, 2 focus. ``frame``: which target sound, or 0.

    A ``bar`` parts two thought groups, a ``tie`` joins two words; both stand in the place of the space.
    """

    text: str
    kind: PieceKind = "text"
    stress: int = 0
    phrase: bool = False
    frame: int = 0


@dataclass(frozen=True)
class SheetLine:
    """One line of the passage. ``time`` is its place in the lesson, ``m:ss``; ``link`` leads there."""

    number: int
    text: str
    pieces: tuple[Piece, ...]
    time: str | None
    link: str | None
    ipa: str | None
    melody: Melody | None


@dataclass(frozen=True)
class Sheet:
    """The handout. ``sounds`` are the framed sounds in the order of their frames, as ``/v/``."""

    title: str
    language: str
    choices: Choices
    lines: tuple[SheetLine, ...]
    sounds: tuple[str, ...]
    phrases: tuple[tuple[str, int], ...]
    pairs: tuple[tuple[str, str], ...]
    pair_sounds: tuple[tuple[str, str], ...]

    def shows(self, stress: int) -> bool:
        """Whether any letter has at least that stress."""
        return any(piece.stress >= stress for line in self.lines for piece in line.pieces)

    def has(self, kind: PieceKind) -> bool:
        return any(piece.kind == kind for line in self.lines for piece in line.pieces)


def sheet(programme: Programme) -> Sheet:
    """The handout of a programme. Raises NotPossible where nothing was studied, or no line is in the passage."""
    study, wanted = programme.study, programme.choices
    if study is None or not study.passage:
        raise NotPossible("there is no passage to make a handout of", hint="mark the passage in the script")
    lines = tuple(_line(number, line, study, programme, wanted) for number, line in enumerate(study.passage, start=1))
    phrases = tuple(
        (line.text[mark.start : mark.end], number)
        for number, line in enumerate(study.passage, start=1)
        for mark in line.marks
        if mark.kind == "phrase"
    )
    return Sheet(
        title=one_line(programme.title),
        language=programme.language,
        choices=wanted,
        lines=lines,
        sounds=tuple(shown(sound) for sound in study.targets.sounds),
        phrases=phrases,
        pairs=tuple((pair.first, pair.second) for pair in study.targets.pairs),
        pair_sounds=tuple((shown(a), shown(b)) for a, b in study.targets.contrasts),
    )


def _line(number: int, line: Line, study: Study, programme: Programme, choices: Choices) -> SheetLine:
    rule = study.rule(line.id)
    reading = study.reading(line.id)
    start_ms = _start_ms(line.id, programme)
    drawing = melody_svg(line, rule, reading) if choices.melody and rule and reading else None
    return SheetLine(
        number=number,
        text=one_line(line.text),
        pieces=tuple(_pieces(line, rule, study, choices)) if rule else (Piece(one_line(line.text)),),
        time=None if start_ms is None else _clock(start_ms),
        link=None if start_ms is None or choices.url is None else link_to(choices.url, start_ms),
        ipa=phonetic(rule) if choices.ipa and rule else None,
        melody=drawing,
    )


def _start_ms(line_id: str, programme: Programme) -> int | None:
    """Where the line is first heard in the model reading, or else at all."""
    said = [one for one in programme.said if one.mark.line_id == line_id]
    model = [one for one in said if one.mark.pass_kind == "model"]
    return (model or said)[0].span.start_ms if said else None


def _clock(at_ms: int) -> str:
    minutes, second = divmod(at_ms // 1000, 60)
    return f"{minutes}:{second:02d}"


def link_to(url: str, at_ms: int) -> str:
    """The address of a moment of the lesson (W3C Media Fragments URI 1.0: ``#t=12.3``)."""
    return url if "#" in url else f"{url}#t={at_ms / 1000:g}"


def phonetic(rule: RuleLine) -> str | None:
    """The line in the phonetic alphabet, weak forms as weak; None where a word has no sounds."""
    if not rule.words or any(not word.sounds for word in rule.words):
        return None
    groups = (" ".join(word.weak or ipa(word.sounds) for word in rule.words[a:b]) for a, b in rule.groups)
    return f"/{' | '.join(groups)}/"


def stressed_letters(line: Line, rule: RuleLine) -> dict[int, int]:
    """Characters of the line that are stressed: 1, or 2 in the focus of a thought group.

    The teacher's own marks stand where the line has any: a marked word by its stressed syllable, a marked part of a
    word as it is.
    """
    has_marks = any(mark.kind == "stress" for mark in line.marks)
    strong = strong_words(line, rule)
    focus = {number for number, word in enumerate(rule.words) if word.nucleus}
    if has_marks:
        marked = [[n for n in range(a, b) if n in strong] for a, b in rule.groups]
        focus = {numbers[-1] for numbers in marked if numbers}
    found: dict[int, int] = {}
    for number, word in enumerate(rule.words):
        if number in strong:
            level = 2 if number in focus else 1
            found.update(dict.fromkeys(_stressed_part(line, word, has_marks), level))
    return found


def _stressed_part(line: Line, word: RuleWord, by_marks: bool) -> range:
    if by_marks:
        own = [m for m in line.marks if m.kind == "stress" and m.start < word.end and word.start < m.end]
        if own and (own[0].start > word.start or own[0].end < word.end):
            return range(max(own[0].start, word.start), min(own[0].end, word.end))
    main = next((syllable for syllable in word.syllables if syllable.stress == 1), None)
    # No letter of "w" spells the syllable of "double u" that is stressed.
    return range(main.start, main.end) if main and main.start < main.end else range(word.start, word.end)


def _pieces(line: Line, rule: RuleLine, study: Study, choices: Choices) -> Iterator[Piece]:
    stress = stressed_letters(line, rule)
    phrases = {at for mark in line.marks if mark.kind == "phrase" for at in range(mark.start, mark.end)}
    frames = {
        at: study.targets.sounds.index(place.sound) + 1
        for place in study.targets.places
        if place.line_id == line.id
        for at in range(place.start, place.end)
    }
    joins = _joins(line.text, rule, choices)

    def looks(at: int) -> tuple[PieceKind, int, bool, int]:
        return joins.get(at, "text"), stress.get(at, 0), at in phrases, frames.get(at, 0)

    for (kind, level, phrase, frame), run in groupby(range(len(line.text)), key=looks):
        text = "".join(line.text[at] for at in run)
        yield Piece(text if kind == "text" else " ", kind, level, phrase, frame)


def _joins(text: str, rule: RuleLine, choices: Choices) -> dict[int, PieceKind]:
    """The space that each bar and each tie stands in, by character."""
    found: dict[int, PieceKind] = {}
    if choices.ties:
        found.update(_spaces(text, rule, [link.word for link in links(rule)], "tie"))
    if choices.bars:
        found.update(_spaces(text, rule, [end - 1 for _, end in rule.groups[:-1]], "bar"))
    return found


def _spaces(text: str, rule: RuleLine, after: Sequence[int], kind: PieceKind) -> Iterator[tuple[int, PieceKind]]:
    for word in after:
        between = range(rule.words[word].end, rule.words[word + 1].start)
        spaces = [at for at in between if text[at].isspace()]
        if spaces:
            yield spaces[-1], kind
